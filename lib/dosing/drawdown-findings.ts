/**
 * What must be said about a drawdown test before its stroke volume is used? Dosing layer.
 *
 * All are warnings: a measured volume is a fact, and a person decides what it is good for. None leaves a trial out.
 */
import type { DrawdownResult, SettingResult } from "./drawdown.js";
import {
  GRUBBS_FEW,
  GRUBBS_LEAST,
  GRUBBS_SOURCE,
  INTERVAL_SOURCE,
  type MeanInterval,
} from "./drawdown-statistics.js";
import type { Finding } from "./findings.js";
import { numberIn, showNumber } from "./quantity.js";
import { shown } from "./show.js";

const PRACTICE = "common practice, no source";
const READING_SOURCE =
  "half a graduation at each of two readings, both on the bad side: common practice, no source";
/** Trials whose lengths differ by more than this weigh too unequally for a plain mean. */
const UNEVEN_LENGTHS = 2;

/** All findings of a test. */
export function drawdownFindings(result: DrawdownResult): Finding[] {
  return [
    ...countFindings(result),
    ...readingFindings(result),
    ...outlierFindings(result),
    ...rateFindings(result),
    ...lengthFindings(result),
  ];
}

function warning(id: string, says: string, source = PRACTICE): Finding {
  return { level: "warning", id, says, source };
}

function countFindings({ trials, stroke }: DrawdownResult): Finding[] {
  if (stroke.halfWidth === undefined) {
    const says = `one trial tells nothing of how sure it is: make ${GRUBBS_LEAST} or more, best at each rate in use`;
    return [warning("one-trial", says, INTERVAL_SOURCE)];
  }
  if (trials.length >= GRUBBS_LEAST) return [];
  const says =
    "with two trials the interval is wide by necessity, and no outlier can be told: make " +
    `${GRUBBS_LEAST} or more`;
  return [warning("two-trials", says, INTERVAL_SOURCE)];
}

function readingFindings({ test, trials, stroke, strokesEnough }: DrawdownResult): Finding[] {
  const share = `${showNumber(test.readingShare.valueOf() * 100)} %`;
  const { graduation } = test;
  if (graduation === undefined || strokesEnough === undefined) {
    const says =
      "nobody said how the cylinder is graduated, so whether the trials were long enough is not judged";
    return [warning("reading-not-judged", says, READING_SOURCE)];
  }
  const findings: Finding[] = [];
  const short = trials.flatMap(({ reading }, at) => (reading?.isLongEnough === false ? [at + 1] : []));
  if (short.length > 0) {
    const which = short.length === trials.length && short.length > 1 ? "all trials" : trialsNamed(short);
    const says =
      `${which} drew too little for a cylinder with a mark every ${shown(graduation)}: the two ` +
      `readings of a trial alone can be out by more than ${share}. ${strokesEnough} strokes a trial would do`;
    findings.push(warning("trial-too-short", says, READING_SOURCE));
  }
  const readingMl = Math.max(...trials.map((trial) => numberIn(graduation, "mL") / trial.strokes));
  if (stroke.halfWidth !== undefined && stroke.halfWidth < readingMl) {
    const says =
      `the interval of ± ${showNumber(stroke.halfWidth)} mL is narrower than the ± ${showNumber(readingMl)} mL that the ` +
      "readings of one trial can be out: trust the wider one, since readings that err alike do not show in the spread";
    findings.push(warning("interval-finer-than-reading", says, READING_SOURCE));
  }
  return findings;
}

function outlierFindings({ test, trials, settings }: DrawdownResult): Finding[] {
  return settings.flatMap(({ outlier, trials: own, stroke }) => {
    if (outlier?.isOutlier !== true) return [];
    const at = own[outlier.index] ?? 0;
    const trial = trials[at];
    if (trial === undefined) return [];
    const away = Math.abs(numberIn(trial.strokeVolume, "mL") - stroke.mean);
    const readingMl = test.graduation === undefined ? 0 : numberIn(test.graduation, "mL") / trial.strokes;
    const says =
      `trial ${at + 1} (${showNumber(numberIn(trial.strokeVolume, "mL"))} mL per stroke) stands apart from the others: ` +
      `G ${showNumber(outlier.statistic)} over ${showNumber(outlier.critical)}` +
      (own.length <= GRUBBS_FEW ? `, a test that flags too readily with ${own.length} trials` : "") +
      (away <= readingMl ? ". Reading the cylinder could explain it" : "") +
      ". It counts in all figures: look for the cause (air, a slipped count, a wrong reading) and repeat it";
    return [warning("outlier", says, GRUBBS_SOURCE)];
  });
}

function rateFindings({ settings }: DrawdownResult): Finding[] {
  const known = settings.filter(
    ({ ratePerMinute, stroke }) => ratePerMinute !== undefined && stroke.halfWidth !== undefined,
  );
  const [first, ...rest] = known;
  if (first === undefined) return [];
  const low = rest.reduce((one, other) => (other.stroke.mean < one.stroke.mean ? other : one), first);
  const high = rest.reduce((one, other) => (other.stroke.mean > one.stroke.mean ? other : one), first);
  if (upper(low.stroke) >= lower(high.stroke)) return [];
  const percent = (high.stroke.mean / low.stroke.mean - 1) * 100;
  const says =
    `a stroke is not the same at every rate: ${rateAndMean(high)} is ${showNumber(percent, 2)} % more than ` +
    `${rateAndMean(low)}, and their intervals do not meet. Plan with the rate in use`;
  return [warning("stroke-varies-with-rate", says, INTERVAL_SOURCE)];
}

function lengthFindings({ trials, stroke, total }: DrawdownResult): Finding[] {
  const counts = trials.map(({ strokes }) => strokes);
  if (Math.max(...counts) <= UNEVEN_LENGTHS * Math.min(...counts)) return [];
  const says =
    `the trials are of very unequal length (${Math.min(...counts)} to ${Math.max(...counts)} strokes) and count the same: ` +
    `${showNumber(stroke.mean)} mL per stroke is their mean, ${showNumber(numberIn(total, "mL"))} mL is all volume over all strokes`;
  return [warning("uneven-lengths", says)];
}

function rateAndMean({ ratePerMinute, stroke }: SettingResult): string {
  return `${showNumber(stroke.mean)} mL at ${showNumber(ratePerMinute?.valueOf() ?? NaN)} a minute`;
}

function lower({ mean, halfWidth = 0 }: MeanInterval): number {
  return mean - halfWidth;
}

function upper({ mean, halfWidth = 0 }: MeanInterval): number {
  return mean + halfWidth;
}

/** "trial 2", "trials 1, 2 and 5". */
function trialsNamed(numbers: readonly number[]): string {
  if (numbers.length === 1) return `trial ${numbers.join("")}`;
  return `trials ${numbers.slice(0, -1).join(", ")} and ${numbers.at(-1) ?? ""}`;
}
