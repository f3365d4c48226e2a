/**
 * What do the choosing, the turndown and the plan say to each other? Shapes. Dosing layer.
 */
import type Fraction from "fraction.js";
import type { Dose, Flow, Strength, Volume } from "./quantity.js";

/** m strokes for every d contacts, both whole, 1 to 65,535 (the limits of the pacing core). */
export interface Ratio {
  readonly strokes: number;
  readonly contacts: number;
}

/** All that a ratio is chosen from. Flows, where given, are in order: low ≤ typical ≤ peak. */
export interface FeedDuty {
  /** Water per contact of the meter. */
  readonly contactVolume: Volume;
  /** Wanted dose, as Cl2. */
  readonly dose: Dose;
  /** Strength of the solution, as Cl2. */
  readonly strength: Strength;
  /** Solution per stroke, at the stroke setting in use. */
  readonly strokeVolume: Volume;
  /** The rate cap: most strokes per minute, above zero, exact. */
  readonly capPerMinute: Fraction;
  readonly peak: Flow;
  readonly typical?: Flow | undefined;
  readonly low?: Flow | undefined;
}

/** The lowest flow that is known of. */
export function lowestFlow({ low, typical, peak }: Pick<FeedDuty, "low" | "typical" | "peak">): Flow {
  return low ?? typical ?? peak;
}

/** One ratio, judged. */
export interface Candidate extends Ratio {
  /** The dose that this ratio gives, exact. */
  readonly dose: Dose;
  /** (dose given − dose wanted) / dose wanted, in percent; above zero is overdosing. */
  readonly errorPercent: number;
  /** Strokes per minute that the ratio asks for at peak flow. */
  readonly strokesPerMinuteAtPeak: number;
  /** True where that is within the cap; whether with the stated margin too, choose.ts says beside it. */
  readonly keepsUp: boolean;
}
