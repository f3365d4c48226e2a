/**
 * Do the trials of a drawdown come to a stroke volume, and is what is wrong with them said?
 */
import fc from "fast-check";
import { abs, mean, std } from "mathjs";
import { expect, test } from "vitest";
import { drawdownResult, type DrawdownTest, type DrawdownTrial } from "../../lib/dosing/drawdown.js";
import { drawdownFindings } from "../../lib/dosing/drawdown-findings.js";
import { fitLine, grubbsTest, meanInterval, tQuantile } from "../../lib/dosing/drawdown-statistics.js";
import { exactIn, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { exact } from "../../lib/dosing/units.js";
import { runs } from "../support/runs.js";

const ml = (amount: number | string) => quantity("volume", amount, "mL");
const ONE_PERCENT = exact("1/100");
type Row = readonly [strokes: number, ml: number | string, rate?: number];
function testOf(rows: readonly Row[], graduation?: string): DrawdownTest {
  const trials = rows.map(([strokes, drawn, rate]): DrawdownTrial => {
    const trial = { strokes, drawn: ml(drawn) };
    return rate === undefined ? trial : { ...trial, ratePerMinute: exact(rate) };
  });
  return {
    trials,
    readingShare: ONE_PERCENT,
    ...(graduation === undefined ? {} : { graduation: ml(graduation) }),
  };
}
const idsOf = (rows: readonly Row[], graduation?: string) =>
  drawdownFindings(drawdownResult(testOf(rows, graduation))).map(({ id }) => id);

const values = fc.array(fc.integer({ min: 1, max: 100_000 }), { minLength: 2, maxLength: 30 });

test("mean and standard deviation are those of another general-purpose library", () => {
  fc.assert(
    fc.property(values, (given) => {
      const { n, mean: ours, sd } = meanInterval(given);
      expect(n).toBe(given.length);
      expect(ours).toBeCloseTo(mean(given), 6);
      expect(sd).toBeCloseTo(std(...given), 6);
    }),
    { numRuns: runs(300) },
  );
});

test("an interval grows and shrinks with its unit, and moves with what is added to all values", () => {
  fc.assert(
    fc.property(values, fc.integer({ min: 1, max: 1_000 }), (given, k) => {
      const before = meanInterval(given).halfWidth as number;
      const scaled = meanInterval(given.map((value) => value * k)).halfWidth as number;
      const moved = meanInterval(given.map((value) => value + k));
      expect(Math.abs(scaled - before * k)).toBeLessThanOrEqual(1e-9 * (1 + before * k));
      expect(Math.abs((moved.halfWidth as number) - before)).toBeLessThanOrEqual(1e-9 * (1 + before));
    }),
    { numRuns: runs(300) },
  );
});

test("in 95 of 100 tests of a normal pump the interval holds the true stroke", () => {
  // Normal values from uniform ones by a fixed rule, so that the test is the same every time.
  let seed = 1;
  const uniform = (): number => (seed = (seed * 48_271) % 2_147_483_647) / 2_147_483_647;
  const normal = (): number => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
  const tests = 4_000;
  const held = Array.from({ length: tests }, () => {
    const { mean, halfWidth = 0 } = meanInterval([normal(), normal(), normal(), normal(), normal()]);
    return Math.abs(mean) <= halfWidth;
  }).filter(Boolean).length;
  // Three standard deviations of a binomial share of 0.95 in 4,000.
  expect(Math.abs(held / tests - 0.95)).toBeLessThan(0.0104);
});

test("the farthest value is the one that Grubbs' test looks at, whichever side it is on", () => {
  fc.assert(
    fc.property(values, (given) => {
      const tested = grubbsTest(given);
      if (tested === undefined) return;
      const middle = mean(given);
      const distances = given.map((value) => abs(value - middle));
      expect(distances[tested.index]).toBeCloseTo(Math.max(...distances), 6);
      expect(tested.isOutlier).toBe(tested.statistic > tested.critical);
    }),
    { numRuns: runs(300) },
  );
});

test.each([
  ["no value stands apart of two", [1, 5], undefined],
  ["equal values have no spread to stand apart from", [0.1, 0.1, 0.1, 0.1], undefined],
  ["a low value is an outlier too", [34, 34.1, 33.9, 34, 34.05, 30], { index: 5, isOutlier: true }],
  ["values that scatter evenly have none", [34, 34.1, 33.9, 34.05, 33.95], { isOutlier: false }],
] as const)("%s", (_, given, expected) => {
  const tested = grubbsTest(given);
  if (expected === undefined) expect(tested).toBeUndefined();
  else expect(tested).toMatchObject(expected);
});

test("a line through points on a line is that line", () => {
  fc.assert(
    fc.property(fc.integer({ min: -50, max: 50 }), fc.integer({ min: -50, max: 50 }), (slope, intercept) => {
      const line = fitLine([1, 2, 5, 9].map((x) => [x, slope * x + intercept]));
      expect(line.slope).toBeCloseTo(slope, 9);
      expect(line.intercept).toBeCloseTo(intercept, 8);
    }),
    { numRuns: runs(100) },
  );
});

test("three trials give their mean, its interval by Student's t, and each its exact share", () => {
  const { stroke, trials, total } = drawdownResult(
    testOf([
      [100, 34],
      [100, "34.5"],
      [200, 68],
    ]),
  );
  const [a, b, c] = [0.34, 0.345, 0.34];
  const m = (a + b + c) / 3;
  const sd = Math.sqrt(((a - m) ** 2 + (b - m) ** 2 + (c - m) ** 2) / 2);
  expect(stroke.mean).toBeCloseTo(m, 12);
  expect(stroke.halfWidth).toBeCloseTo((4.302652729911275 * sd) / Math.sqrt(3), 8);
  expect(trials.map(({ strokeVolume }) => exactIn(strokeVolume, "mL").toFraction())).toEqual([
    "17/50",
    "69/200",
    "17/50",
  ]);
  expect(exactIn(total, "mL").toFraction()).toBe("273/800");
});

test("units do not matter: fluid ounces, gallons and litres give the same stroke", () => {
  const strokes = 128;
  const drawn = [
    quantity("volume", 1, "gal"),
    quantity("volume", 128, "floz"),
    quantity("volume", "3.785411784", "L"),
  ];
  const means = drawn.map((volume) =>
    exactIn(
      drawdownResult({ trials: [{ strokes, drawn: volume }], readingShare: ONE_PERCENT }).total,
      "floz",
    ).toFraction(),
  );
  expect(means).toEqual(["1", "1", "1"]);
});

test.each([
  ["the share of a reading is a whole graduation: half at each end", 100, 50, "1", "1/50", false],
  ["exactly the share asked for is long enough", 100, 100, "1", "1/100", true],
  ["just below it is not", 100, "99.99", "1", "100/9999", false],
] as const)("%s", (_, strokes, drawn, graduation, share, isLongEnough) => {
  const [trial] = drawdownResult(testOf([[strokes, drawn]], graduation)).trials;
  expect([trial?.reading?.share.toFraction(), trial?.reading?.isLongEnough]).toEqual([share, isLongEnough]);
});

test("with as many strokes as it says the reading is within the share, and with one stroke fewer it is not", () => {
  const row = fc.tuple(fc.integer({ min: 1, max: 500 }), fc.integer({ min: 1, max: 5_000 }));
  fc.assert(
    fc.property(row, fc.integer({ min: 1, max: 50 }), ([strokes, drawn], graduation) => {
      const given = testOf([[strokes, drawn]], String(graduation));
      const { strokesEnough = 0, total } = drawdownResult(given);
      const isEnough = (count: number): boolean | undefined =>
        count === 0
          ? false
          : drawdownResult({
              ...given,
              trials: [{ strokes: count, drawn: quantity("volume", total.si.mul(count), "m3") }],
            }).trials[0]?.reading?.isLongEnough;
      expect([isEnough(strokesEnough), isEnough(strokesEnough - 1)]).toEqual([true, false]);
    }),
    { numRuns: runs(200) },
  );
});

const STEADY: readonly Row[] = [
  [300, "102.1"],
  [300, "101.4"],
  [300, "102.9"],
  [300, "102"],
];
test.each([
  ["sound trials have none", STEADY, "0.5", []],
  ["one trial", [[300, 102]], "1", ["one-trial"]],
  [
    "two trials",
    [
      [300, "102"],
      [300, "105"],
    ],
    "1",
    ["two-trials"],
  ],
  ["no graduation", STEADY, undefined, ["reading-not-judged"]],
  [
    "a short trial",
    [
      [300, 102],
      [300, 106],
      [299, 99],
    ],
    "1",
    ["trial-too-short"],
  ],
  [
    "readings that are all alike",
    [
      [300, 102],
      [300, 102],
      [300, 102],
    ],
    "1",
    ["interval-finer-than-reading"],
  ],
  ["an outlier", [...STEADY, [300, "120"]], "0.5", ["outlier"]],
  [
    "very unequal lengths",
    [
      [300, 102],
      [700, 240],
      [700, 237],
    ],
    "1",
    ["uneven-lengths"],
  ],
  [
    "a stroke that shrinks with the rate",
    [
      [300, 102, 30],
      [300, "102.2", 30],
      [300, "101.8", 30],
      [300, "90", 120],
      [300, "90.2", 120],
      [300, "89.8", 120],
    ],
    "0.1",
    ["stroke-varies-with-rate"],
  ],
] as readonly [string, readonly Row[], string | undefined, readonly string[]][])(
  "what must be said: %s",
  (_, rows, graduation, ids) => {
    expect(idsOf(rows, graduation)).toEqual(ids);
  },
);

test("an outlier counts: it is marked, and mean and number are those of all trials", () => {
  const { trials, stroke } = drawdownResult(testOf([...STEADY, [300, "120"]]));
  expect(trials.map(({ isOutlier }) => isOutlier)).toEqual([false, false, false, false, true]);
  expect([stroke.n, stroke.mean]).toEqual([
    5,
    expect.closeTo((102.1 + 101.4 + 102.9 + 102 + 120) / 1500, 12),
  ]);
});

test("an outlier is looked for among the trials at its own rate", () => {
  const slow = [
    [100, "40", 30],
    [100, "40.1", 30],
    [100, "39.9", 30],
  ] as const;
  const fast = [
    [100, "30", 120],
    [100, "30.1", 120],
    [100, "29.9", 120],
    [100, "30.05", 120],
  ] as const;
  const { trials } = drawdownResult(testOf([...slow, ...fast]));
  expect(trials.some(({ isOutlier }) => isOutlier)).toBe(false);
});

test("what reading the cylinder could explain is said beside the outlier", () => {
  const rows: Row[] = [
    [300, 102],
    [300, "101.5"],
    [300, 102],
  ];
  const [says] = drawdownFindings(drawdownResult(testOf(rows, "1"))).flatMap(({ id, says }) =>
    id === "outlier" ? [says] : [],
  );
  expect(says).toContain("Reading the cylinder could explain it");
});

test("the rate gives the capacity", () => {
  const [trial] = drawdownResult(testOf([[100, 50, 80]])).trials;
  expect(trial?.capacity && numberIn(trial.capacity, "mL/min")).toBe(40);
});

test.each([
  ["no trials", [] as Row[]],
  ["no strokes", [[0, 10]] as Row[]],
  ["half a stroke", [[1.5, 10]] as Row[]],
])("%s is the caller's mistake", (_, rows) => {
  expect(() => drawdownResult(testOf(rows))).toThrow(RangeError);
});

test("two trials have an interval of one degree of freedom", () => {
  const { halfWidth } = meanInterval([1, 2]);
  expect(halfWidth).toBeCloseTo(tQuantile(0.975, 1) * 0.5, 9);
});
