/**
 * Which settings have been staged on the device, and can they be? LINK.md, section 5. Harness layer.
 */
import { type Settings, type SettingsInput, validateSettings } from "../../lib/pacing/index.js";
import type { DeviceProfile } from "./device-end-profile.js";

export class StagedSettings {
  private staged: { [name: string]: number | string } = {};

  constructor(private readonly profile: Pick<DeviceProfile, "settable" | "madeByHand">) {}

  /** Stages one, as far as it can be looked at alone; or tells why not. */
  set(name: string, value: string): "word" | "value" | undefined {
    if (!this.profile.settable.some((known) => known === name)) return "word";
    const given = /^(?:0|[1-9]\d{0,15})$/.test(value) ? Number(value) : value;
    if (!isSoundAlone(name, given)) return "value";
    this.staged[name] = given;
    return undefined;
  }

  /** All of them as they are now, or the name of one that cannot be beside the others. */
  sound(): { readonly settings: Settings } | { readonly unsound: string } {
    const verdict = validateSettings({
      ...this.profile.madeByHand,
      ...this.staged,
    } as unknown as SettingsInput);
    return verdict.ok ? { settings: verdict.settings } : { unsound: verdict.faults[0]?.setting ?? "" };
  }

  forget(): void {
    this.staged = {};
  }
}

/** Whether a value of a setting is within its range, whatever the others are. */
function isSoundAlone(name: string, value: number | string): boolean {
  // With another value that cannot be, relations between settings are not looked at.
  const spoilt = name === "strokes" ? { contacts: 0 } : { strokes: 0 };
  const verdict = validateSettings({ ...spoilt, [name]: value } as unknown as SettingsInput);
  return !verdict.ok && verdict.faults.every(({ setting }) => setting !== name);
}
