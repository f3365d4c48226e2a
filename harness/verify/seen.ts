/**
 * Which laws can this device show at all, and if not, why? Harness layer. What cannot be seen is listed, never passed.
 */
import { LAW_NAMES, type LawName } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import type { DeviceAbout } from "../device.js";

/** Why a law cannot be seen on a device, for each that cannot. */
export function unseenLaws(about: DeviceAbout, settings: Settings): ReadonlyMap<LawName, string> {
  const reasons = LAW_NAMES.map((law) => [law, reasonFor(law, about, settings)] as const);
  return new Map(reasons.filter((entry): entry is readonly [LawName, string] => entry[1] !== undefined));
}

function reasonFor(law: LawName, about: DeviceAbout, settings: Settings): string | undefined {
  if (!about.laws.has(law)) return "the device says that it cannot be observed on it";
  const { takes, tells } = about;
  const lacks = (...kinds: StimulusEvent["kind"][]): string | undefined => {
    const missing = kinds.filter((kind) => !takes.has(kind));
    return missing.length === 0 ? undefined : `the device takes no ${missing.join(" and no ")}`;
  };
  switch (law) {
    case "balance":
      return tells.has("status") ? undefined : "the device does not tell its accounts";
    case "prime":
      return lacks("prime-on", "prime-off");
    case "silence":
      return takes.has("hold-on") || takes.has("inhibit-on") || hasGuard(about, settings)
        ? undefined
        : "the device takes no hold and no inhibit, and has no guard that could trip";
    case "wake-ups":
      return about.clock === "real"
        ? "two runs on a clock that runs by itself are never alike to the tick"
        : lacks("wake");
    case "time-shift":
      if (about.clock === "real")
        return "two runs on a clock that runs by itself are never alike to the tick";
      return about.canStartAt ? undefined : "the device's clock cannot be set";
    case "lateness":
      return about.canLag ? undefined : "the device's wake-ups cannot be made late";
    case "power-cycle":
      return (
        lacks("power-off", "power-on") ??
        (tells.has("status") ? undefined : "the device does not tell its accounts")
      );
    case "bounce":
      return (
        lacks("close", "open") ??
        (tells.has("counted") ? undefined : "the device does not tell of its contacts")
      );
    case "guard":
      return hasGuard(about, settings) ? undefined : "no guard is set, and the device cannot be given one";
    case "debt":
      return tells.has("status") || tells.has("shed") ? undefined : "the device does not tell what it owes";
    case "proportion":
    case "cap":
    case "causality":
    case "still-water":
    case "totality":
      return undefined;
  }
}

function hasGuard({ settable }: DeviceAbout, { guardBudgetStrokes }: Settings): boolean {
  return guardBudgetStrokes > 0 || settable.has("guardBudgetStrokes");
}
