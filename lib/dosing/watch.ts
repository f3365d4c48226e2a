/**
 * What does a point in the pipe see? Mean, peak, shares of underdosed water and time to steady. Dosing layer.
 *
 * Takes one step of water after another and keeps only sums. Within a step the concentration is a known smooth
 * function: where its slope turns, and where it crosses a threshold, is found by root finding on it, not by sampling.
 */

/** One step of water past the point, at constant flow. */
export interface Step {
  readonly endMicros: number;
  readonly seconds: number;
  readonly litres: number;
  /** False for water that only the time to steady looks at. */
  readonly counted: boolean;
  /** Disinfectant in that water. */
  readonly mg: number;
  /** Concentration and its slope a second, so many seconds into the step. */
  readonly at: (seconds: number) => { readonly mgPerLitre: number; readonly slope: number };
}

/** Parts of the wanted dose that water is counted as being under. */
export const UNDER_PARTS = [1, 0.8, 0.5] as const;
/** Steady is within this part of the wanted dose, averaged over one mixing volume of water. Common practice, no source. */
export const STEADY_BAND = 0.05;

export interface Watched {
  readonly litres: number;
  /** Averaged over the water, not over time. Undefined, as all that follows, where no water has passed. */
  readonly meanMgPerLitre: number | undefined;
  readonly peakMgPerLitre: number | undefined;
  readonly lowestMgPerLitre: number | undefined;
  readonly peakToMean: number | undefined;
  /** Share of the water under each part of the wanted dose. */
  readonly under: readonly { readonly partOfWanted: number; readonly share: number | undefined }[];
  /** When the last lot of water outside the steady band ended; undefined where the very last lot was outside. */
  readonly steadyMicros: number | undefined;
}

export interface Watch {
  take(step: Step): void;
  figures(): Watched;
}

interface Sums {
  litres: number;
  mg: number;
  peak: number;
  lowest: number;
  readonly underLitres: number[];
}

export function newWatch(wantedMgPerLitre: number, lotLitres: number): Watch {
  const thresholds = UNDER_PARTS.map((part) => part * wantedMgPerLitre);
  const sums: Sums = {
    litres: 0,
    mg: 0,
    peak: -Infinity,
    lowest: Infinity,
    underLitres: thresholds.map(() => 0),
  };
  const lot = { litres: 0, mg: 0 };
  let outsideMicros = 0;
  // Before the first lot is full, nothing is known to be steady.
  let steady = false;

  const closeLot = (endMicros: number): void => {
    steady = Math.abs(lot.mg / lot.litres / wantedMgPerLitre - 1) <= STEADY_BAND;
    if (!steady) outsideMicros = endMicros;
    lot.litres = 0;
    lot.mg = 0;
  };

  return {
    take(step) {
      if (step.counted) {
        sums.litres += step.litres;
        sums.mg += step.mg;
        lookInto(step, thresholds, sums);
      }
      lot.litres += step.litres;
      lot.mg += step.mg;
      if (lot.litres >= lotLitres) closeLot(step.endMicros);
    },
    figures() {
      const seen = sums.litres > 0;
      const mean = sums.mg / sums.litres;
      return {
        litres: sums.litres,
        meanMgPerLitre: seen ? mean : undefined,
        peakMgPerLitre: seen ? sums.peak : undefined,
        lowestMgPerLitre: seen ? sums.lowest : undefined,
        peakToMean: seen && mean > 0 ? sums.peak / mean : undefined,
        under: UNDER_PARTS.map((partOfWanted, i) => ({
          partOfWanted,
          share: seen ? (sums.underLitres[i] as number) / sums.litres : undefined,
        })),
        steadyMicros: steady ? outsideMicros : undefined,
      };
    },
  };
}

/** Splits a step where its slope turns, so that each part only rises or only falls. */
function lookInto(step: Step, thresholds: readonly number[], sums: Sums): void {
  const start = step.at(0);
  const end = step.at(step.seconds);
  note(sums, start.mgPerLitre);
  note(sums, end.mgPerLitre);
  if (start.slope * end.slope < 0) {
    const turn = root((s) => step.at(s).slope, {
      from: 0,
      to: step.seconds,
      atFrom: start.slope,
      atTo: end.slope,
    });
    const turned = step.at(turn).mgPerLitre;
    note(sums, turned);
    countUnder(step, { from: 0, to: turn, atFrom: start.mgPerLitre, atTo: turned }, thresholds, sums);
    countUnder(
      step,
      { from: turn, to: step.seconds, atFrom: turned, atTo: end.mgPerLitre },
      thresholds,
      sums,
    );
    return;
  }
  const whole = { from: 0, to: step.seconds, atFrom: start.mgPerLitre, atTo: end.mgPerLitre };
  countUnder(step, whole, thresholds, sums);
}

function note(sums: Sums, mgPerLitre: number): void {
  if (mgPerLitre > sums.peak) sums.peak = mgPerLitre;
  if (mgPerLitre < sums.lowest) sums.lowest = mgPerLitre;
}

/** A stretch of a step, and a function's values at its ends. */
interface Bracket {
  readonly from: number;
  readonly to: number;
  readonly atFrom: number;
  readonly atTo: number;
}

function countUnder(step: Step, part: Bracket, thresholds: readonly number[], sums: Sums): void {
  const litresPerSecond = step.litres / step.seconds;
  thresholds.forEach((threshold, i) => {
    const startsUnder = part.atFrom < threshold;
    const endsUnder = part.atTo < threshold;
    if (!startsUnder && !endsUnder) return;
    const crossing =
      startsUnder === endsUnder
        ? part.to
        : root((s) => step.at(s).mgPerLitre - threshold, {
            from: part.from,
            to: part.to,
            atFrom: part.atFrom - threshold,
            atTo: part.atTo - threshold,
          });
    const seconds = startsUnder ? crossing - part.from : part.to - crossing;
    sums.underLitres[i] = (sums.underLitres[i] as number) + seconds * litresPerSecond;
  });
}

const ROOT_STEPS_MOST = 60;
const ROOT_PART = 1e-9;

/** Where a function with values of opposite sign at the ends is 0: false position, Illinois form, to a billionth. */
function root(f: (x: number) => number, bracket: Bracket): number {
  let { from, to, atFrom, atTo } = bracket;
  const fine = (to - from) * ROOT_PART;
  let kept = "neither";
  let last = from;
  for (let i = 0; i < ROOT_STEPS_MOST; i++) {
    const x = from + ((to - from) * atFrom) / (atFrom - atTo);
    const value = f(x);
    if (value === 0 || Math.abs(x - last) <= fine) return x;
    last = x;
    if (value > 0 === atFrom > 0) {
      [from, atFrom] = [x, value];
      // An end that stays twice would hold the line back: give it half its weight.
      if (kept === "to") atTo /= 2;
      kept = "to";
    } else {
      [to, atTo] = [x, value];
      if (kept === "from") atFrom /= 2;
      kept = "from";
    }
  }
  return last;
}
