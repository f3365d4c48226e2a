/**
 * Which settings can a device be given? Their names on the link and in the core are the same. Harness layer.
 */
import type { SettingsInput } from "../../lib/pacing/index.js";

/** In the order of LINK.md, section 5. What a stroke's volume rests on is no business of the device. */
export const SETTING_NAMES = [
  "strokes",
  "contacts",
  "cadence",
  "leastSpacingMicros",
  "owedLimitStrokes",
  "graceMicros",
  "longestPrimeMicros",
  "primeSpacingMicros",
  "contactsDuringPrime",
  "guardBudgetStrokes",
  "guardPeriodMicros",
  "guardBurstStrokes",
  "closedMicros",
  "openMicros",
  "leastContactMicros",
  "stuckMicros",
  "silentMicros",
  "largestIncrease",
] as const satisfies readonly (keyof SettingsInput)[];
