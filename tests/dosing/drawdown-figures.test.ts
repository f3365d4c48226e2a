/**
 * Are accuracy, repeatability and linearity what their definitions say, and unknown where trials cannot tell?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { drawdownResult, type DrawdownTrial } from "../../lib/dosing/drawdown.js";
import {
  FIGURE_LIMITS,
  FIGURES,
  keepsLimit,
  type Performance,
  performanceOf,
} from "../../lib/dosing/drawdown-figures.js";
import { numberIn, quantity } from "../../lib/dosing/quantity.js";
import { exact } from "../../lib/dosing/units.js";
import { runs } from "../support/runs.js";

type Row = readonly [mlPerMinute: number, rate?: number];
/** Trials of one minute each. */
function performance(rows: readonly Row[], ratedMlPerMinute?: number): Performance {
  const trials = rows.map(([mlPerMinute, rate]): DrawdownTrial => {
    const trial = { strokes: rate ?? 100, drawn: quantity("volume", mlPerMinute, "mL") };
    return rate === undefined ? trial : { ...trial, ratePerMinute: exact(rate) };
  });
  const rated = ratedMlPerMinute === undefined ? undefined : quantity("flow", ratedMlPerMinute, "mL/min");
  return performanceOf(drawdownResult({ trials, readingShare: exact("1/100"), rated }));
}
const percentOf = (figure: Performance["accuracy"]): number | undefined =>
  figure.isKnown ? Number(figure.percent.toFixed(9)) : undefined;

test("accuracy is greatest less least over the mean, of trials made one after the other", () => {
  const { accuracy } = performance([[39.8], [40], [40.2]]);
  expect(percentOf(accuracy)).toBe(1);
});

test("accuracy is that of the worst visit, and a change between visits is none of it", () => {
  const { accuracy } = performance([
    [20, 50],
    [20.1, 50],
    [40, 100],
    [40, 100],
    [22, 50],
    [22, 50],
  ]);
  expect(accuracy).toEqual({
    isKnown: true,
    percent: expect.closeTo((0.1 / 20.05) * 100, 9) as number,
    atRate: 50,
  });
});

test("repeatability is greatest less least at a rate that was left and returned to, over rated capacity", () => {
  const rows: Row[] = [
    [20, 50],
    [40, 100],
    [21, 50],
  ];
  expect(performance(rows).repeatability).toEqual({ isKnown: true, percent: 2.5, atRate: 50 });
  expect(percentOf(performance(rows, 50).repeatability)).toBe(2);
});

test("linearity is the largest distance from the least-squares line, over rated capacity", () => {
  // Least squares through (1, 1), (2, 2), (3, 6) is y = 2.5 x - 2; the middle lies 1 below it.
  const { linearity, line } = performance(
    [
      [1, 1],
      [2, 2],
      [6, 3],
    ],
    10,
  );
  expect([line?.slope, line?.intercept]).toEqual([expect.closeTo(2.5, 9), expect.closeTo(-2, 9)]);
  expect(linearity).toMatchObject({ isKnown: true, percent: expect.closeTo(10, 9) as number, atRate: 2 });
});

test("a pump that delivers in proportion to its rate is without fault in all three", () => {
  const rate = fc.integer({ min: 1, max: 300 });
  fc.assert(
    fc.property(
      fc.uniqueArray(rate, { minLength: 3, maxLength: 6 }),
      fc.integer({ min: 1, max: 9 }),
      (rates, each) => {
        const rows = [...rates, ...rates].flatMap((one): Row[] => [
          [one * each, one],
          [one * each, one],
        ]);
        const { accuracy, repeatability, linearity, rated } = performance(rows);
        expect([accuracy, repeatability, linearity].map(percentOf)).toEqual([0, 0, 0]);
        expect(rated && numberIn(rated.capacity, "mL/min")).toBeCloseTo(Math.max(...rates) * each, 9);
      },
    ),
    { numRuns: runs(100) },
  );
});

test.each([
  [
    "single trials at two rates",
    [
      [20, 50],
      [40, 100],
    ],
    [false, false, false],
  ],
  [
    "repeated trials at one rate",
    [
      [20, 50],
      [20, 50],
    ],
    [true, false, false],
  ],
  ["trials whose rate nobody noted", [[20], [20], [20]], [true, false, false]],
  [
    "three rates, once each",
    [
      [20, 50],
      [40, 100],
      [60, 150],
    ],
    [false, false, true],
  ],
  [
    "a rate left and returned to",
    [
      [20, 50],
      [40, 100],
      [20, 50],
    ],
    [false, true, false],
  ],
] as readonly [string, readonly Row[], readonly boolean[]][])("of %s it knows %o", (_, rows, known) => {
  const figures = performance(rows);
  expect(FIGURES.map((name) => figures[name].isKnown)).toEqual(known);
});

test("the highest mean seen stands in for the rated capacity, and says so", () => {
  expect(
    performance([
      [20, 50],
      [41, 100],
      [39, 100],
    ]).rated,
  ).toMatchObject({ from: "highest mean seen" });
  expect(performance([[20, 50]], 50).rated).toMatchObject({ from: "stated" });
  expect(performance([[20]]).rated).toBeUndefined();
});

test("the limits are those of the standard: 1, 3 and 3 percent", () => {
  expect(FIGURE_LIMITS).toEqual({ accuracy: 1, repeatability: 3, linearity: 3 });
});

test.each([
  ["accuracy", 1, "full", true],
  ["accuracy", 1.01, "full", false],
  ["accuracy", 2, "half", true],
  ["accuracy", 2.01, "half", false],
  ["repeatability", 6, "half", true],
  ["repeatability", 6, "full", false],
  ["linearity", 3.01, "half", false],
] as const)("%s of %d %% by the %s spread keeps its limit: %s", (name, percent, spread, expected) => {
  expect(keepsLimit(name, { isKnown: true, percent, atRate: undefined }, spread)).toBe(expected);
});
