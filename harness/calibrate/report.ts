/**
 * What does a drawdown test come to: its numbers, what must be said, and whether the pump keeps the limits? Harness layer.
 */
import type Fraction from "fraction.js";
import {
  drawdownFindings,
  type DrawdownResult,
  drawdownResult,
  type DrawdownTest,
  type FigureName,
  FIGURE_LIMITS,
  FIGURES,
  type Finding,
  GRUBBS_SOURCE,
  INTERVAL_SOURCE,
  keepsLimit,
  type MeanInterval,
  numberIn,
  type Performance,
  PERFORMANCE_SOURCE,
  performanceOf,
  quantity,
  spreadPercent,
  type Volume,
} from "../../lib/dosing/index.js";
import { FULL_STROKE_STATEMENT } from "../../lib/pacing/index.js";

export type FigureVerdict = "within" | "outside" | "cannot tell";

/** What is asked of a test, besides its trials. */
export interface CalibrateTerms {
  /** Whether the whole spread or half of it is held against a limit. */
  readonly spread: "full" | "half";
  /** Figures that decide how the command ends. */
  readonly judged: readonly FigureName[];
  /** The rate whose stroke volume is wanted, strokes per minute; all trials unless given. */
  readonly at?: Fraction | undefined;
}

export interface CalibrateReport {
  readonly result: DrawdownResult;
  readonly performance: Performance;
  readonly findings: readonly Finding[];
  readonly terms: CalibrateTerms;
  readonly verdicts: { readonly [name in FigureName]: FigureVerdict };
  /** The stroke that a plan takes, mL: of all trials, or of those at the rate asked for. */
  readonly planned: MeanInterval;
}

/** Short, and shown with every result. */
export const CAUTIONS: readonly string[] = [
  "The volume holds for this pump at this stroke setting, back pressure and liquid, as they were in the trials. Repeat the " +
    "drawdown when one of them changes, and after maintenance.",
  FULL_STROKE_STATEMENT,
  "Nothing here measures chlorine. Local codes, the product's label and a licensed operator or engineer decide; measure " +
    "the residual at the tap.",
];

/** Works a test out; undefined where no trial was made at the rate that is asked for. */
export function calibrateReport(test: DrawdownTest, terms: CalibrateTerms): CalibrateReport | undefined {
  const result = drawdownResult(test);
  const performance = performanceOf(result);
  const { at } = terms;
  const planned =
    at === undefined
      ? result.stroke
      : result.settings.find(({ ratePerMinute }) => ratePerMinute?.equals(at) === true)?.stroke;
  if (planned === undefined) return undefined;
  const verdictOf = (name: FigureName): FigureVerdict => {
    const figure = performance[name];
    if (!figure.isKnown) return "cannot tell";
    return keepsLimit(name, figure, terms.spread) ? "within" : "outside";
  };
  return {
    result,
    performance,
    findings: drawdownFindings(result),
    terms,
    verdicts: {
      accuracy: verdictOf("accuracy"),
      repeatability: verdictOf("repeatability"),
      linearity: verdictOf("linearity"),
    },
    planned,
  };
}

/** The stroke volume as a plan takes it, to six digits: a measurement is never that sure. */
export function plannedVolume({ planned }: CalibrateReport): Volume {
  return quantity("volume", planned.mean.toPrecision(6), "mL");
}

/** 0 measured; of the figures that were to be judged: 1 one is outside its limit, 3 one cannot be told. */
export function statusOfReport({ terms, verdicts }: CalibrateReport): 0 | 1 | 3 {
  const answers = terms.judged.map((name) => verdicts[name]);
  if (answers.includes("outside")) return 1;
  return answers.includes("cannot tell") ? 3 : 0;
}

/** The object of `calibrate --json`; names that stay. */
export function calibrateObject(report: CalibrateReport): object {
  const { result, performance, findings, terms, planned } = report;
  const { test, stroke, total, settings, trials, strokesEnough } = result;
  return {
    ml_per_stroke: intervalObject(stroke),
    planned: { ...intervalObject(planned), rate_per_min: terms.at?.valueOf() ?? null },
    ml_per_stroke_total: numberIn(total, "mL"),
    rated_ml_per_min: performance.rated === undefined ? null : numberIn(performance.rated.capacity, "mL/min"),
    rated_from: performance.rated?.from ?? null,
    spread: terms.spread,
    ...Object.fromEntries(FIGURES.map((name) => [FIGURE_KEYS[name], figureObject(report, name)])),
    line: performance.line === undefined ? null : { ...performance.line, unit: "mL/min per stroke/min" },
    settings: settings.map((setting) => ({
      rate_per_min: setting.ratePerMinute?.valueOf() ?? null,
      trials: setting.trials.map((at) => at + 1),
      visits: setting.visits.length,
      ml_per_stroke: intervalObject(setting.stroke),
      grubbs: setting.outlier && {
        trial: (setting.trials[setting.outlier.index] ?? 0) + 1,
        statistic: setting.outlier.statistic,
        critical: setting.outlier.critical,
        outlier: setting.outlier.isOutlier,
      },
    })),
    trials: trials.map((trial) => ({
      rate_per_min: trial.ratePerMinute?.valueOf() ?? null,
      strokes: trial.strokes,
      volume_ml: numberIn(trial.drawn, "mL"),
      ml_per_stroke: numberIn(trial.strokeVolume, "mL"),
      ml_per_min: trial.capacity === undefined ? null : numberIn(trial.capacity, "mL/min"),
      reading_percent: trial.reading === undefined ? null : trial.reading.share.valueOf() * 100,
      long_enough: trial.reading?.isLongEnough ?? null,
      outlier: trial.isOutlier,
    })),
    graduation_ml: test.graduation === undefined ? null : numberIn(test.graduation, "mL"),
    reading_wanted_percent: test.readingShare.valueOf() * 100,
    strokes_enough: strokesEnough ?? null,
    warnings: findings.map(({ level, id, says, source }) => ({ level, id, says, source })),
    sources: { interval: INTERVAL_SOURCE, outliers: GRUBBS_SOURCE, performance: PERFORMANCE_SOURCE },
    cautions: CAUTIONS,
  };
}

const FIGURE_KEYS: { readonly [name in FigureName]: string } = {
  accuracy: "steady_state_accuracy",
  repeatability: "repeatability",
  linearity: "linearity",
};

function figureObject({ performance, verdicts, terms }: CalibrateReport, name: FigureName): object {
  const figure = performance[name];
  const limit = { limit_percent: FIGURE_LIMITS[name], verdict: verdicts[name] };
  if (!figure.isKnown) return { percent: null, ...limit, why: figure.why, mend: figure.mend };
  return {
    percent: figure.percent,
    held_against_limit_percent: spreadPercent(name, figure.percent, terms.spread),
    at_rate_per_min: figure.atRate ?? null,
    ...limit,
  };
}

function intervalObject({ n, mean, sd, halfWidth }: MeanInterval): object {
  return {
    n,
    mean,
    sd: sd ?? null,
    interval_95: halfWidth === undefined ? null : [mean - halfWidth, mean + halfWidth],
    half_width_percent: halfWidth === undefined ? null : (halfWidth / mean) * 100,
  };
}
