/**
 * What happens to a concentration on its way through N equal, ideally mixed tanks in series? Dosing layer.
 *
 * While the flow is constant the answer is a closed form, so time is crossed in one step of any length and no step
 * size can go wrong: with q the turnovers a second of one tank, k the decay a second and x = (q + k)·t, what starts in
 * a tank is found j tanks on with weight (q/(q + k))^j · e^(−x)·x^j/j!, and its time there by the same sum's tail.
 * Every term is positive, so nothing cancels. Concentrations are in mg/L, times in seconds, volumes in litres.
 * Source: O. Levenspiel, Chemical Reaction Engineering, 3rd ed., Wiley, 1999, chapter 14, the tanks-in-series model.
 */

/** Most tanks in a row; a pipe without dispersion is the limit of many. */
export const TANKS_MOST = 50;

export interface Tanks {
  readonly count: number;
  readonly litresEach: number;
  readonly decayPerSecond: number;
  /** In each tank, in the order of flow. Changed in place. */
  readonly mgPerLitre: Float64Array;
}

/** Tanks of equal volume that start with `startMgPerLitre` everywhere. Throws a RangeError for any size out of range. */
export function newTanks(
  count: number,
  litres: number,
  decayPerSecond: number,
  startMgPerLitre: number,
): Tanks {
  if (!Number.isInteger(count) || count < 1 || count > TANKS_MOST) {
    throw new RangeError(`the number of tanks is ${count}, not a whole number from 1 to ${TANKS_MOST}`);
  }
  if (!(litres > 0 && litres < Infinity))
    throw new RangeError(`the mixing volume is ${litres} L, not above 0`);
  if (!(decayPerSecond >= 0 && decayPerSecond < Infinity)) {
    throw new RangeError(`the decay is ${decayPerSecond} a second, not 0 or more`);
  }
  const mgPerLitre = new Float64Array(count).fill(startMgPerLitre);
  return { count, litresEach: litres / count, decayPerSecond, mgPerLitre };
}

/** What all tanks hold, mg. */
export function heldMg({ mgPerLitre, litresEach }: Tanks): number {
  return mgPerLitre.reduce((sum, one) => sum + one, 0) * litresEach;
}

/** So little moves or decays in a step that nothing does; smaller numbers would lose their digits. */
const STILL = 1e-200;

/** The weights for one step at constant flow; filled by {@link prepare}, so that equal steps share them. */
export interface Passage {
  turnoversPerSecond: number;
  seconds: number;
  /** Share of what starts in a tank that is j tanks on at the end of the step. */
  readonly weights: Float64Array;
  /** How long, on average over what starts in a tank, it is j tanks on during the step, seconds. */
  readonly dwellSeconds: Float64Array;
}

export function newPassage({ count }: Tanks): Passage {
  return {
    turnoversPerSecond: Number.NaN,
    seconds: Number.NaN,
    weights: new Float64Array(count),
    dwellSeconds: new Float64Array(count),
  };
}

/** Fills a passage for `seconds` at a flow of `turnoversPerSecond` of one tank's volume. */
export function prepare(passage: Passage, tanks: Tanks, turnoversPerSecond: number, seconds: number): void {
  if (passage.turnoversPerSecond === turnoversPerSecond && passage.seconds === seconds) return;
  passage.turnoversPerSecond = turnoversPerSecond;
  passage.seconds = seconds;
  const { weights, dwellSeconds } = passage;
  const rate = turnoversPerSecond + tanks.decayPerSecond;
  const x = rate * seconds;
  if (x < STILL) {
    weights.fill(0);
    dwellSeconds.fill(0);
    weights[0] = 1;
    dwellSeconds[0] = seconds;
    return;
  }
  poisson(weights, x);
  tails(dwellSeconds, weights, x);
  const onward = turnoversPerSecond / rate;
  let share = 1;
  for (let j = 0; j < tanks.count; j++) {
    weights[j] = (weights[j] as number) * share;
    dwellSeconds[j] = ((dwellSeconds[j] as number) * share) / rate;
    share *= onward;
  }
}

/** e^(−x)·x^j/j! for every j. */
function poisson(terms: Float64Array, x: number): void {
  let term = Math.exp(-x);
  for (let j = 0; j < terms.length; j++) {
    terms[j] = term;
    term *= x / (j + 1);
  }
}

/** The sum of the Poisson terms beyond j, for every j: from whichever end does not cancel. */
function tails(sums: Float64Array, terms: Float64Array, x: number): void {
  const count = terms.length;
  if (x > count + 1) {
    let sum = 1;
    for (let j = 0; j < count; j++) sums[j] = sum -= terms[j] as number;
    return;
  }
  let term = ((terms[count - 1] as number) * x) / count;
  let sum = 0;
  for (let i = count + 1; sum + term !== sum; i++) {
    sum += term;
    term *= x / i;
  }
  for (let j = count - 1; j >= 0; j--) {
    sums[j] = sum;
    sum += terms[j] as number;
  }
}

/** Where what left the last tank, and what decayed, is told. */
export interface Told {
  /** Time integral of the last tank's concentration over the step, mg·s/L. */
  outletMgSecondsPerLitre: number;
  /** Time integral of the sum of all tanks' concentrations over the step, mg·s/L. */
  allMgSecondsPerLitre: number;
}

/** Takes the tanks through a prepared passage, in place. */
export function pass(tanks: Tanks, { weights, dwellSeconds }: Passage, told: Told): void {
  const { count, mgPerLitre } = tanks;
  let outlet = 0;
  let all = 0;
  let dwell = 0;
  for (let j = 0; j < count; j++) {
    const start = mgPerLitre[count - 1 - j] as number;
    dwell += dwellSeconds[j] as number;
    outlet += start * (dwellSeconds[j] as number);
    all += start * dwell;
  }
  // From the last tank up, so that each still finds the old concentrations of those before it.
  for (let i = count - 1; i >= 0; i--) {
    let sum = 0;
    for (let j = 0; j <= i; j++) sum += (mgPerLitre[i - j] as number) * (weights[j] as number);
    mgPerLitre[i] = sum;
  }
  told.outletMgSecondsPerLitre = outlet;
  told.allMgSecondsPerLitre = all;
}

/** Concentration and its slope a second in the last tank, `seconds` after the state `start`. */
export function outletAfter(
  tanks: Tanks,
  start: Float64Array,
  turnoversPerSecond: number,
  seconds: number,
): { readonly mgPerLitre: number; readonly slope: number } {
  const { count, decayPerSecond } = tanks;
  const rate = turnoversPerSecond + decayPerSecond;
  let weight = Math.exp(-rate * seconds);
  let last = 0;
  let before = 0;
  for (let j = 0; j < count; j++) {
    last += weight * (start[count - 1 - j] as number);
    if (j < count - 1) before += weight * (start[count - 2 - j] as number);
    weight *= (turnoversPerSecond * seconds) / (j + 1);
  }
  return { mgPerLitre: last, slope: turnoversPerSecond * before - rate * last };
}
