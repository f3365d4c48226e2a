/**
 * How much strength does hypochlorite lose with age and warmth? Dosing layer.
 *
 * Second order in hypochlorite: 1/C − 1/C0 = k·t, so a half-life is 1/(k·C0): a strong stock ages faster, and no one
 * half-life is true. Source of the order: Gordon, Adam, Bubnis, Minimizing chlorate ion formation, Journal AWWA, 1995.
 * k grows with temperature by Arrhenius, with the activation energy of Lister, Decomposition of sodium hypochlorite:
 * the uncatalyzed reaction, Canadian Journal of Chemistry 34, 1956, abstract: 24.8 kcal/mol.
 * k is held constant, though it falls as the solution weakens: good to some 4 % while three quarters are left, after
 * that the true strength is higher. Estimates for planning: light and metals change them, a titration overrules them.
 */
import { type Duration, fromSi, numberIn, quantity, type Strength, type Temperature } from "./quantity.js";
import { exact } from "./units.js";

/** Rate constant k at one temperature. */
export interface DecayRate {
  /** Litres of solution per gram of available chlorine per day, above zero. */
  readonly litresPerGramDay: number;
  readonly at: Temperature;
}

/**
 * The rate used unless a better one is known: 125 g/L falls to 121.2 g/L in a week at 70 °F.
 * Source: Breakdown of bleach over time by storage temperature, Trouble Free Pool wiki, 12.5 % table. Of low authority,
 * a fit to published rates; it is on the safe side for weaker stock, where less salt makes k smaller.
 */
export const USUAL_DECAY: DecayRate = {
  litresPerGramDay: (1 / 121.2 - 1 / 125) / 7,
  at: quantity("temperature", 70, "degF"),
};

/** J/mol: 24.8 kcal/mol of 4,184 J/kcal. */
const ACTIVATION_ENERGY = 24.8 * 4_184;
/** Gas constant, J/(mol·K). Source: SI, 2019, exact to the digits given. */
const GAS_CONSTANT = 8.314462618;

/** k at a storage temperature, L/(g·day). */
export function decayRateAt(storage: Temperature, rate: DecayRate = USUAL_DECAY): number {
  const inverse = 1 / numberIn(rate.at, "K") - 1 / numberIn(storage, "K");
  return rate.litresPerGramDay * Math.exp((ACTIVATION_ENERGY / GAS_CONSTANT) * inverse);
}

/** Strength after `age` at a storage temperature; never above the fresh strength. */
export function strengthAfter(
  fresh: Strength,
  age: Duration,
  storage: Temperature,
  rate: DecayRate = USUAL_DECAY,
): Strength {
  const freshGramsPerLitre = numberIn(fresh, "g/L");
  const lost = decayRateAt(storage, rate) * numberIn(age, "day") * freshGramsPerLitre;
  return fromSi("strength", exact(freshGramsPerLitre / (1 + lost)));
}

/** How long until the strength has fallen to `share` of fresh, 0 < share < 1. Throws RangeError outside. */
export function ageUntil(
  fresh: Strength,
  share: number,
  storage: Temperature,
  rate: DecayRate = USUAL_DECAY,
): Duration {
  if (!(share > 0 && share < 1))
    throw new RangeError(`share of fresh strength is ${share}, not between 0 and 1`);
  const days = (1 / share - 1) / (decayRateAt(storage, rate) * numberIn(fresh, "g/L"));
  return fromSi("duration", exact(days).mul(86_400));
}
