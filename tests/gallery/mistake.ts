/**
 * What is a mistake of the gallery? Test support.
 */
import type { LawName } from "../../lib/laws/index.js";
import { type Micros, SECOND, type Settings, type SettingsInput } from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";
import type { Controller } from "./controller.js";
import type { Tell } from "./accounts.js";

export type Firmware = new (settings: Settings, startMicros: Micros, tell: Tell) => Controller;

export interface Mistake {
  readonly name: string;
  /** What the firmware does wrong, in one sentence without its subject. */
  readonly does: string;
  /** The law that an engineer would look up for it, and that must name it. */
  readonly law: LawName;
  /** Laws that the same run rightly breaks beside it. */
  readonly also?: readonly LawName[];
  /** Where the usual settings do not let it show. */
  readonly settings?: Partial<SettingsInput>;
  /** The controller with the mistake: the one method that is written wrongly. */
  readonly firmware: Firmware;
}

const USUAL: SettingsInput = {
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 2,
  cadence: "prompt",
  graceMicros: 20 * SECOND,
  longestPrimeMicros: 10 * SECOND,
};

export function settingsFor(mistake?: Pick<Mistake, "settings">): Settings {
  return sound({ ...USUAL, ...mistake?.settings });
}
