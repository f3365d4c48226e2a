/**
 * What do all questions work with? The state at hand, and the few words that they share. Harness layer.
 */
import type Fraction from "fraction.js";
import {
  doseOfRatio,
  type Plan,
  type Ratio,
  showNumber,
  strokesPerContact,
} from "../../../lib/dosing/index.js";
import {
  type Micros,
  RATIO_TERM_MAX,
  type Settings,
  type SettingsInput,
  validateSettings,
} from "../../../lib/pacing/index.js";
import type { Day } from "../day.js";
import type { Stretch } from "../patterns.js";
import type { Values } from "../read.js";

export interface Work {
  readonly values: Values;
  readonly plan: Plan;
  /** The day without any press of prime. */
  readonly day: Day;
  readonly ratio: Ratio;
  /** Strokes that a contact is worth. */
  readonly worth: number;
}

export function atWork(values: Values, plan: Plan, day: Day): Work {
  const { strokes, contacts } = values.settings;
  return { values, plan, day, ratio: { strokes, contacts }, worth: strokesPerContact(plan.duty).valueOf() };
}

export function ratioText({ strokes, contacts }: Ratio): string {
  return `${strokes}:${contacts}`;
}

/** How far a ratio misses the wanted dose, percent; above 0 is too much. */
export function missPercent({ plan }: Pick<Work, "plan">, ratio: Ratio): number {
  return doseOfRatio(ratio, plan.duty).si.div(plan.duty.dose.si).sub(1).mul(100).valueOf();
}

/** The m:1 or 1:d just above and just below what a contact is worth; one where it is such a ratio itself. */
export function wholeRatios({ duty }: Plan): Ratio[] {
  const worth = strokesPerContact(duty);
  const isMany = worth.gte(1);
  const of = (whole: Fraction): Ratio =>
    isMany ? { strokes: Number(whole.n), contacts: 1 } : { strokes: 1, contacts: Number(whole.n) };
  const terms = isMany ? worth : worth.inverse();
  const [above, below] = isMany ? [terms.ceil(), terms.floor()] : [terms.floor(), terms.ceil()];
  const ratios = above.equals(below) ? [of(above)] : [of(above), of(below)];
  return ratios.filter(({ strokes, contacts }) => Math.max(strokes, contacts) <= RATIO_TERM_MAX);
}

/** "+33.3 %", "−0.2 %", "0 %". */
export function signedPercent(percent: number, digits = 3): string {
  const text = showNumber(Math.abs(percent), digits);
  if (text === "0" || Math.abs(percent) < 1e-9) return "0 %";
  return `${percent > 0 ? "+" : "−"}${text} %`;
}

/** The first stretch for which something is true, or undefined. */
export function firstStretch(
  work: Work,
  wanted: (stretch: Stretch, next: Stretch | undefined) => boolean,
): Stretch | undefined {
  const { stretches } = work.values;
  return stretches.find((stretch, i) => wanted(stretch, stretches[i + 1]));
}

export function middleOf({ fromMicros, untilMicros }: Stretch): Micros {
  return Math.round((fromMicros + untilMicros) / 2);
}

/** The same settings but for what is changed; undefined where the core refuses them. */
export function otherSettings(settings: Settings, change: Partial<SettingsInput>): Settings | undefined {
  const { strokes, contacts, leastSpacingMicros, cadence, owedLimitStrokes, graceMicros } = settings;
  const { longestPrimeMicros } = settings;
  const verdict = validateSettings({
    ...{ strokes, contacts, leastSpacingMicros, cadence, owedLimitStrokes, graceMicros, longestPrimeMicros },
    ...change,
  });
  return verdict.ok ? verdict.settings : undefined;
}
