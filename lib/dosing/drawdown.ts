/**
 * What do the trials of a drawdown say about a stroke? Dosing layer.
 *
 * A trial is a counted number of strokes and the volume that they drew from a cylinder, at one stroke rate. Every trial
 * counts the same, and none is ever left out: an outlier is pointed at, not dropped. Trials and reading error are exact
 * fractions; statistics are doubles, in millilitres per stroke.
 */
import type Fraction from "fraction.js";
import { type GrubbsTest, grubbsTest, type MeanInterval, meanInterval } from "./drawdown-statistics.js";
import { drawdownStrokeVolume, pumpOutput } from "./pump.js";
import { type Flow, fromSi, numberIn, type Volume } from "./quantity.js";

/** One trial. */
export interface DrawdownTrial {
  /** Counted, a whole number of at least 1. */
  readonly strokes: number;
  readonly drawn: Volume;
  /** Strokes per minute, above zero; undefined where nobody noted it. */
  readonly ratePerMinute?: Fraction | undefined;
}

/** A drawdown test: one trial or more, in the order in which they were made. */
export interface DrawdownTest {
  readonly trials: readonly DrawdownTrial[];
  /** Volume between two marks of the cylinder. */
  readonly graduation?: Volume | undefined;
  /** The largest share of the volume that the reading may be out, above zero; one percent is 1/100. */
  readonly readingShare: Fraction;
  /** Rated capacity of the pump; the highest mean capacity seen stands in for it. */
  readonly rated?: Flow | undefined;
}

/** What one trial gives. */
export interface TrialResult extends DrawdownTrial {
  readonly strokeVolume: Volume;
  /** Stroke volume times stroke rate. */
  readonly capacity?: Flow | undefined;
  readonly reading?: CylinderReading | undefined;
  /** Grubbs' test points at it, among the trials at its rate. */
  readonly isOutlier: boolean;
}

/** How far the cylinder can be out: half a graduation at the reading before and at the one after. */
export interface CylinderReading {
  /** Of the volume drawn, exact. */
  readonly share: Fraction;
  readonly isLongEnough: boolean;
}

/** The trials at one rate, wherever they stand in the test. */
export interface SettingResult {
  readonly ratePerMinute: Fraction | undefined;
  /** Places in the test, from 0. */
  readonly trials: readonly number[];
  /** Unbroken runs of trials at this rate: more than one where it was left and returned to. */
  readonly visits: readonly (readonly number[])[];
  /** Millilitres per stroke. */
  readonly stroke: MeanInterval;
  /** Undefined where the test could not be made. */
  readonly outlier: GrubbsTest | undefined;
}

/** What all trials give. */
export interface DrawdownResult {
  readonly test: DrawdownTest;
  readonly trials: readonly TrialResult[];
  /** In the order of first use. */
  readonly settings: readonly SettingResult[];
  /** Millilitres per stroke, over all trials. */
  readonly stroke: MeanInterval;
  /** Volume per stroke as all that was drawn over all strokes: long trials weigh more. */
  readonly total: Volume;
  /** Strokes after which the reading error is within the share asked for. */
  readonly strokesEnough: number | undefined;
}

/** Works a test out. Throws a RangeError for a test without trials, or with a count that is none. */
export function drawdownResult(test: DrawdownTest): DrawdownResult {
  const { trials, graduation, readingShare } = test;
  if (trials.length === 0) throw new RangeError("a drawdown test has at least one trial");
  const odd = trials.find(({ strokes }) => !Number.isSafeInteger(strokes) || strokes < 1);
  if (odd !== undefined) throw new RangeError(`${odd.strokes} is no count of strokes`);

  const results = trials.map((trial) => ({
    ...trial,
    strokeVolume: drawdownStrokeVolume(trial.drawn, trial.strokes),
    reading: graduation && readingOf(trial.drawn, graduation, readingShare),
  }));
  const mlPerStroke = results.map(({ strokeVolume }) => numberIn(strokeVolume, "mL"));
  const settings = settingsOf(trials, mlPerStroke);
  const outliers = new Set(settings.map(outlierOf));
  const total = totalOf(trials);
  return {
    test,
    trials: results.map((result, at) => ({
      ...result,
      capacity: result.ratePerMinute && pumpOutput(result.strokeVolume, result.ratePerMinute),
      isOutlier: outliers.has(at),
    })),
    settings,
    stroke: meanInterval(mlPerStroke),
    total,
    strokesEnough: graduation && Number(graduation.si.div(readingShare).div(total.si).ceil()),
  };
}

/** Half a graduation at each of two readings, both on the bad side. */
function readingOf(drawn: Volume, graduation: Volume, share: Fraction): CylinderReading {
  const error = graduation.si.div(drawn.si);
  return { share: error, isLongEnough: error.lte(share) };
}

function settingsOf(
  trials: readonly DrawdownTrial[],
  mlPerStroke: readonly number[],
): readonly SettingResult[] {
  const visits: number[][] = [];
  trials.forEach((trial, at) => {
    const open = visits.at(-1);
    const before = trials[at - 1];
    if (open !== undefined && before !== undefined && isSameRate(before, trial)) open.push(at);
    else visits.push([at]);
  });
  const rateAt = (visit: readonly number[]): DrawdownTrial => trials[visit[0] ?? 0] as DrawdownTrial;
  const firsts = visits.filter(
    (visit, at) => !visits.slice(0, at).some((earlier) => isSameRate(rateAt(earlier), rateAt(visit))),
  );
  return firsts.map((first) => {
    const own = visits.filter((visit) => isSameRate(rateAt(visit), rateAt(first)));
    const at = own.flat();
    const values = at.map((place) => mlPerStroke[place] as number);
    return {
      ratePerMinute: rateAt(first).ratePerMinute,
      trials: at,
      visits: own,
      stroke: meanInterval(values),
      outlier: grubbsTest(values),
    };
  });
}

function isSameRate(one: DrawdownTrial, other: DrawdownTrial): boolean {
  if (one.ratePerMinute === undefined || other.ratePerMinute === undefined) {
    return one.ratePerMinute === other.ratePerMinute;
  }
  return one.ratePerMinute.equals(other.ratePerMinute);
}

/** The place of the outlier in the whole test. */
function outlierOf({ outlier, trials }: SettingResult): number | undefined {
  return outlier?.isOutlier === true ? trials[outlier.index] : undefined;
}

function totalOf(trials: readonly DrawdownTrial[]): Volume {
  const drawn = trials.map((trial) => trial.drawn.si).reduce((sum, si) => sum.add(si));
  return fromSi("volume", drawn.div(trials.reduce((sum, { strokes }) => sum + strokes, 0)));
}
