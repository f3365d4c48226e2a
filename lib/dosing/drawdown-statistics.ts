/**
 * How sure is a mean of a few trials, and does one of them stand apart? Dosing layer.
 *
 * Mean, standard deviation, line and t quantile are the libraries'; here is only what is made of them. The t quantile
 * is good to seven digits, which the tests hold against closed forms and printed tables.
 */
// @ts-expect-error the library has no declarations; what is used of it is typed below
import jstat from "jstat";
import { linearRegression, mean, sampleStandardDeviation } from "simple-statistics";

const { studentt } = jstat as { readonly studentt: { inv(p: number, degrees: number): number } };

/** Confidence of the interval, and significance of the outlier test. */
export const CONFIDENCE = 0.95;
export const SIGNIFICANCE = 0.05;
/** Fewest values that the outlier test can judge. */
export const GRUBBS_LEAST = 3;
/** With so many values or fewer the test is known to flag too readily. */
export const GRUBBS_FEW = 6;
export const GRUBBS_SOURCE =
  "Grubbs, Procedures for Detecting Outlying Observations in Samples, Technometrics 11 (1), 1969, as in the " +
  "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1 (two-sided, 5 %)";
export const INTERVAL_SOURCE =
  "NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2, confidence limits for the mean (Student t)";

/** A mean with its two-sided 95 % confidence interval, in the unit of the values. */
export interface MeanInterval {
  readonly n: number;
  readonly mean: number;
  /** Sample standard deviation; undefined for one value. */
  readonly sd: number | undefined;
  /** The interval is mean ± this; undefined for one value. */
  readonly halfWidth: number | undefined;
}

/** Grubbs' test of the value that is farthest from the mean. */
export interface GrubbsTest {
  /** Place of the value in what was given, from 0. */
  readonly index: number;
  /** Its distance from the mean in standard deviations. */
  readonly statistic: number;
  readonly critical: number;
  readonly isOutlier: boolean;
}

/** A straight line: y = slope · x + intercept. */
export interface FittedLine {
  readonly slope: number;
  readonly intercept: number;
}

/** Quantile of Student's t: `p` above 0 and below 1, `degrees` of freedom 1 or more. */
export function tQuantile(p: number, degrees: number): number {
  return studentt.inv(p, degrees);
}

/** The mean of one value or more: mean ± t(0.975, n − 1) · sd / √n. */
export function meanInterval(values: readonly number[]): MeanInterval {
  const n = values.length;
  const all = [...values];
  if (n < 2) return { n, mean: mean(all), sd: undefined, halfWidth: undefined };
  // A library's rounding must not make a spread where there is none.
  const sd = Math.max(...values) === Math.min(...values) ? 0 : sampleStandardDeviation(all);
  const halfWidth = (tQuantile((1 + CONFIDENCE) / 2, n - 1) * sd) / Math.sqrt(n);
  return { n, mean: mean(all), sd, halfWidth };
}

/** Critical value of Grubbs' test for `n` values, three or more; `tail` is the significance of one side. */
export function grubbsCritical(n: number, tail: number): number {
  const t2 = tQuantile(1 - tail / n, n - 2) ** 2;
  return ((n - 1) / Math.sqrt(n)) * Math.sqrt(t2 / (n - 2 + t2));
}

/** Grubbs' test, two-sided at 5 %; undefined below three values, and where all are equal. */
export function grubbsTest(values: readonly number[]): GrubbsTest | undefined {
  const { n, mean, sd } = meanInterval(values);
  if (n < GRUBBS_LEAST || sd === undefined || sd === 0) return undefined;
  const distances = values.map((value) => Math.abs(value - mean));
  const farthest = Math.max(...distances);
  const statistic = farthest / sd;
  const critical = grubbsCritical(n, SIGNIFICANCE / 2);
  return { index: distances.indexOf(farthest), statistic, critical, isOutlier: statistic > critical };
}

/** Least-squares line through two points or more that are not all at one x. */
export function fitLine(points: readonly (readonly [x: number, y: number])[]): FittedLine {
  const { m, b } = linearRegression(points.map(([x, y]) => [x, y]));
  return { slope: m, intercept: b };
}
