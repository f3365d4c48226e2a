/**
 * May one more stroke be made within the budget? The Generic Cell Rate Algorithm, in whole numbers.
 *
 * Pacing layer. The virtual-scheduling form of ITU-T I.371 (annex A): a stroke conforms if it comes no earlier
 * than the theoretical time less a tolerance; the theoretical time then moves on by one interval. Interval and
 * tolerance are period / budget and (burst − 1) · period / budget: rarely whole, so each carries a rest over the
 * budget and nothing is ever rounded. In every window of w µs at most burst + ⌊w · budget / period⌋ strokes pass.
 */
import type { Micros } from "./limits.js";

/** The theoretical time at which the budget would be whole again: whole microseconds, and a rest over the budget. */
export interface GuardBucket {
  guardFullMicros: Micros;
  guardFullRest: number;
}

/** The terms of the guard, as `Settings` carries them. */
export interface GuardTerms {
  readonly guardBudgetStrokes: number;
  readonly guardIntervalMicros: Micros;
  readonly guardIntervalRest: number;
  readonly guardToleranceMicros: Micros;
  readonly guardToleranceRest: number;
}

/** Takes one stroke from the budget at `atMicros`. False, and nothing taken, where that would go over it. */
export function admitStroke(bucket: GuardBucket, terms: GuardTerms, atMicros: Micros): boolean {
  const earliest = bucket.guardFullMicros - terms.guardToleranceMicros;
  // The two rests differ by less than one budget, so the exact earliest time lies within 1 µs of the whole one.
  const rounding = bucket.guardFullRest > terms.guardToleranceRest ? 1 : 0;
  if (atMicros < earliest + rounding) return false;
  if (bucket.guardFullMicros < atMicros) {
    bucket.guardFullMicros = atMicros;
    bucket.guardFullRest = 0;
  }
  bucket.guardFullMicros += terms.guardIntervalMicros;
  bucket.guardFullRest += terms.guardIntervalRest;
  if (bucket.guardFullRest >= terms.guardBudgetStrokes) {
    bucket.guardFullRest -= terms.guardBudgetStrokes;
    bucket.guardFullMicros += 1;
  }
  return true;
}
