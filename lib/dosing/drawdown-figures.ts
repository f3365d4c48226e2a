/**
 * How evenly does the pump deliver? The performance terms of API Standard 675, from the trials of a drawdown. Dosing layer.
 *
 * Source: API Standard 675, Positive Displacement Pumps - Controlled Volume, 3rd ed., American Petroleum Institute, 2012,
 * as restated in public (definitions and limits of steady-state accuracy, flow repeatability and linearity). The
 * standard covers hydraulic diaphragm and plunger pumps, not directly driven diaphragms: for those its terms are
 * vocabulary, and its limits a yardstick that nobody promised. Its limits are written "±", and the restatement holds the
 * whole spread, greatest less least, against them; whether whole or half is meant is the caller's to say.
 */
import type { DrawdownResult, SettingResult } from "./drawdown.js";
import { fitLine, type FittedLine } from "./drawdown-statistics.js";
import { type Flow, numberIn, quantity } from "./quantity.js";

export const PERFORMANCE_SOURCE =
  "API Standard 675, 3rd ed., American Petroleum Institute, 2012, as restated in public; it covers hydraulic diaphragm " +
  "and plunger pumps, not directly driven diaphragms";

export const FIGURES = ["accuracy", "repeatability", "linearity"] as const;
export type FigureName = (typeof FIGURES)[number];

/** Limits in percent: of the mean capacity for accuracy, of the rated capacity for the others. */
export const FIGURE_LIMITS: { readonly [name in FigureName]: number } = {
  accuracy: 1,
  repeatability: 3,
  linearity: 3,
};

/** Fewest rates through which a line says anything. */
export const LINE_RATES_LEAST = 3;

/** A spread: greatest less least in percent, and the rate at which it was worst. */
export interface FigureSpread {
  readonly isKnown: true;
  readonly percent: number;
  /** Strokes per minute, where rates were noted. */
  readonly atRate: number | undefined;
}

/** A figure that these trials cannot give, and what would. */
export interface FigureUnknown {
  readonly isKnown: false;
  readonly why: string;
  readonly mend: string;
}

/** The rated capacity, stated or seen. */
export interface RatedCapacity {
  readonly capacity: Flow;
  readonly from: "stated" | "highest mean seen";
}

export interface Performance {
  readonly rated: RatedCapacity | undefined;
  /** Within one visit to a rate: (greatest − least) / mean. */
  readonly accuracy: FigureSpread | FigureUnknown;
  /** Of a rate that was left and returned to: (greatest − least) / rated capacity. */
  readonly repeatability: FigureSpread | FigureUnknown;
  /** Largest distance of a trial from the least-squares line of capacity on rate / rated capacity. */
  readonly linearity: FigureSpread | FigureUnknown;
  /** Millilitres per minute on strokes per minute. */
  readonly line: FittedLine | undefined;
}

/** Whether a figure keeps its limit. Linearity is a distance to one side and is never halved. */
export function keepsLimit(name: FigureName, { percent }: FigureSpread, spread: "full" | "half"): boolean {
  return spreadPercent(name, percent, spread) <= FIGURE_LIMITS[name];
}

/** The percentage that is held against the limit. */
export function spreadPercent(name: FigureName, percent: number, spread: "full" | "half"): number {
  return spread === "half" && name !== "linearity" ? percent / 2 : percent;
}

/** The three figures, as far as the trials give them. */
export function performanceOf(result: DrawdownResult): Performance {
  const rated = ratedOf(result);
  const points = pointsOf(result);
  const rates = new Set(points.map(([rate]) => rate));
  const line = rates.size < LINE_RATES_LEAST ? undefined : fitLine(points);
  return {
    rated,
    accuracy: accuracyOf(result),
    repeatability: repeatabilityOf(result, rated),
    linearity: linearityOf(points, line, rated),
    line,
  };
}

function ratedOf({ test, settings }: DrawdownResult): RatedCapacity | undefined {
  if (test.rated !== undefined) return { capacity: test.rated, from: "stated" };
  const means = settings.flatMap(({ ratePerMinute, stroke }) =>
    ratePerMinute === undefined ? [] : [stroke.mean * ratePerMinute.valueOf()],
  );
  if (means.length === 0) return undefined;
  return { capacity: quantity("flow", Math.max(...means), "mL/min"), from: "highest mean seen" };
}

/** Strokes per minute and millilitres per minute of each trial whose rate is known. */
function pointsOf({ trials }: DrawdownResult): (readonly [rate: number, mlPerMinute: number])[] {
  return trials.flatMap(({ ratePerMinute, capacity }) =>
    ratePerMinute && capacity ? [[ratePerMinute.valueOf(), numberIn(capacity, "mL/min")] as const] : [],
  );
}

function accuracyOf({ trials, settings }: DrawdownResult): FigureSpread | FigureUnknown {
  const spreads = settings.flatMap((setting) =>
    setting.visits
      .filter((visit) => visit.length > 1)
      .map((visit) => {
        // The rate is the same for all, so that it cancels.
        const values = visit.map((at) =>
          numberIn((trials[at] as (typeof trials)[number]).strokeVolume, "mL"),
        );
        const mean = values.reduce((sum, value) => sum + value) / values.length;
        return spreadAt(setting, values, mean);
      }),
  );
  return (
    worst(spreads) ?? {
      isKnown: false,
      why: "no two trials were made one after the other at the same rate",
      mend: "repeat the trial at one rate without changing anything",
    }
  );
}

function repeatabilityOf(
  { trials, settings }: DrawdownResult,
  rated: RatedCapacity | undefined,
): FigureSpread | FigureUnknown {
  const returned = settings.filter(({ visits }) => visits.length > 1);
  const spreads = returned.flatMap((setting) => {
    const capacities = setting.trials.flatMap((at) => {
      const { capacity } = trials[at] as (typeof trials)[number];
      return capacity === undefined ? [] : [numberIn(capacity, "mL/min")];
    });
    return rated === undefined ? [] : [spreadAt(setting, capacities, numberIn(rated.capacity, "mL/min"))];
  });
  return (
    worst(spreads) ?? {
      isKnown: false,
      why: "no rate was left and returned to",
      mend: "note the rates, go to another rate, come back and repeat",
    }
  );
}

function linearityOf(
  points: readonly (readonly [rate: number, mlPerMinute: number])[],
  line: FittedLine | undefined,
  rated: RatedCapacity | undefined,
): FigureSpread | FigureUnknown {
  if (line === undefined || rated === undefined) {
    return {
      isKnown: false,
      why: `a line needs ${LINE_RATES_LEAST} different rates`,
      mend: "note the rates, and make trials at the lowest rate in use, the highest, and one between",
    };
  }
  const whole = numberIn(rated.capacity, "mL/min");
  const distances = points.map(([rate, capacity]) => ({
    isKnown: true as const,
    percent: (Math.abs(line.intercept + line.slope * rate - capacity) / whole) * 100,
    atRate: rate,
  }));
  return distances.reduce((one, other) => (other.percent > one.percent ? other : one));
}

function spreadAt({ ratePerMinute }: SettingResult, values: readonly number[], whole: number): FigureSpread {
  const percent = ((Math.max(...values) - Math.min(...values)) / whole) * 100;
  return { isKnown: true, percent, atRate: ratePerMinute?.valueOf() };
}

function worst(spreads: readonly FigureSpread[]): FigureSpread | undefined {
  return spreads.length === 0
    ? undefined
    : spreads.reduce((one, other) => (other.percent > one.percent ? other : one));
}
