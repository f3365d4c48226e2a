/**
 * What can be set, and what do valid settings look like? Pacing layer.
 *
 * Settings are branded and frozen by `validateSettings`: a step takes nothing else, so after that the core cannot fail.
 */
import type { Micros } from "./limits.js";

/** How owed strokes are laid out in time: evenly over the last contact interval, or as soon as the cap allows. */
export type Cadence = "spread" | "prompt";
/** What a contact is worth while the prime override is held. */
export type ContactsDuringPrime = "earn" | "ignore";
/**
 * Why a stroke's volume is trusted: the pump stands at its full manual stroke setting and delivers its rated
 * volume, or millilitres per stroke were measured by a drawdown at the setting that is in use.
 */
export type StrokeBasis = "full" | "measured";

/** What a user may set. Counts are whole; durations are whole microseconds. */
export interface SettingsInput {
  /** m of the ratio m:d, 1 to 65,535: strokes for every `contacts` contacts. */
  readonly strokes: number;
  /** d of the ratio m:d, 1 to 65,535. */
  readonly contacts: number;
  /** The rate cap: least time between any two strokes of either cause, 1 µs to 1 h. Exactly this far apart is allowed. */
  readonly leastSpacingMicros: Micros;
  /** Default `spread`. */
  readonly cadence?: Cadence;
  /** Most strokes that may be owed; beyond it they are shed. Up to 1,000,000; default 10 contacts' worth. */
  readonly owedLimitStrokes?: number;
  /** Still-water grace: how long after the last contact owed strokes may still be made. Up to 1 day; default 90 s. */
  readonly graceMicros?: Micros;
  /** Longest time that one press of the prime override is obeyed, up to 1 h; default 60 s. */
  readonly longestPrimeMicros?: Micros;
  /** Time between primed strokes, at least `leastSpacingMicros`, up to 1 h; default `leastSpacingMicros`. */
  readonly primeSpacingMicros?: Micros;
  /** Default `earn`. */
  readonly contactsDuringPrime?: ContactsDuringPrime;
  /** Guard: strokes per `guardPeriodMicros`, of every cause, up to 65,535. 0, the default, is no guard. */
  readonly guardBudgetStrokes?: number;
  /** Guard: the period of the budget, up to 1 day; default 1 h. */
  readonly guardPeriodMicros?: Micros;
  /** Guard: strokes that may come at once after a rest, up to 65,535; default the whole budget. */
  readonly guardBurstStrokes?: number;
  /** A closure counts once it has stayed closed this long, up to 10 s; default 10 ms. */
  readonly closedMicros?: Micros;
  /** … after the contact has stayed open this long, up to 10 s; default 10 ms. */
  readonly openMicros?: Micros;
  /** Contacts closer than the meter can physically make are rejected, up to 1 h; 0, the default, rejects none. */
  readonly leastContactMicros?: Micros;
  /**
   * Closed for longer than this is alarmed as stuck, up to 7 days; 0 is never; default 1 day, since a healthy meter may
   * come to rest on a closed contact for a night.
   */
  readonly stuckMicros?: Micros;
  /** No contact for longer than this is alarmed as silent, up to 7 days; 0 is never; default 1 day. */
  readonly silentMicros?: Micros;
  /** A change of settings that multiplies the feed by more than this must be confirmed, 1 to 1,000; default 2. */
  readonly largestIncrease?: number;
  /** Default `full`. */
  readonly strokeBasis?: StrokeBasis;
}

declare const valid: unique symbol;

/** Settings that have passed {@link validateSettings}, complete and frozen. */
export type Settings = Readonly<Required<SettingsInput>> & {
  /** Most strokes that one contact can earn: ⌈m/d⌉. */
  readonly strokesPerContactMost: number;
  /** The guard's emission interval, period / budget, as whole microseconds and a rest over the budget. */
  readonly guardIntervalMicros: Micros;
  readonly guardIntervalRest: number;
  /** The guard's tolerance, (burst − 1) · interval, in the same two parts. */
  readonly guardToleranceMicros: Micros;
  readonly guardToleranceRest: number;
  readonly [valid]: true;
};

/** One thing that is wrong with settings: where, what, and what to do. */
export interface SettingsFault {
  readonly setting: string;
  readonly fault: string;
  readonly mend: string;
}

export type SettingsVerdict =
  | { readonly ok: true; readonly settings: Settings }
  | { readonly ok: false; readonly faults: readonly SettingsFault[] };

/** What must be said wherever a ratio is acted on. */
export const FULL_STROKE_STATEMENT =
  "A ratio is right only if every stroke delivers the volume it was worked out with: set the pump's manual stroke " +
  "adjustment to full and use its rated volume, or measure millilitres per stroke by a drawdown at the adjustment in use.";
