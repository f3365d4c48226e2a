/**
 * What can happen to a pacer, and in what order within one microsecond? Pacing layer.
 */
import type { Micros } from "./limits.js";
import type { Settings } from "./settings.js";

/**
 * Why strokes are forbidden for now: no permission (flow switch or well-pump starter), solution tank empty, pump
 * fault, no flow seen, or another interlock. Each cause is switched on and off by itself.
 */
export const INHIBIT_CAUSES = ["permission", "tank", "pump", "flow", "other"] as const;
export type InhibitCause = (typeof INHIBIT_CAUSES)[number];

/** One input, at a time that must not be earlier than the last; an earlier one acts at the last time. */
export type Input =
  | {
      readonly kind:
        "wake" | "close" | "open" | "contact" | "prime-on" | "prime-off" | "hold-on" | "hold-off" | "reset";
      readonly atMicros: Micros;
    }
  | {
      readonly kind: "inhibit-on" | "inhibit-off";
      readonly atMicros: Micros;
      readonly cause: InhibitCause;
    }
  | {
      readonly kind: "settings";
      readonly atMicros: Micros;
      readonly settings: Settings;
      /** True where a person has confirmed an increase of the feed beyond `largestIncrease`. */
      readonly confirmed: boolean;
    };

export type InputKind = Input["kind"];

// Water that has passed is counted under the mode it passed in; what starts comes before what stops, so that a
// zero-length press leaves nothing running and, in doubt, the stop wins.
const INSTANT_ORDER: { readonly [kind in InputKind]: number } = {
  wake: 0,
  close: 1,
  open: 1,
  contact: 1,
  settings: 2,
  reset: 3,
  "inhibit-off": 4,
  "hold-off": 5,
  "prime-on": 6,
  "prime-off": 7,
  "hold-on": 8,
  "inhibit-on": 9,
};

/**
 * The place of an input among others of the same microsecond: wake, then edges and contacts as they come, then
 * settings, then what starts (reset, inhibit-off, hold-off, prime-on), then what stops (prime-off, hold-on,
 * inhibit-on). A driver that knows all inputs of an instant sorts them, stably, by this number.
 */
export function instantOrder(kind: InputKind): number {
  return INSTANT_ORDER[kind];
}
