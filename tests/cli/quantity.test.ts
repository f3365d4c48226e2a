/**
 * Durations, rates, ratios and budgets, from the words of people to whole numbers.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  formatBudget,
  formatDuration,
  isRefusal,
  rateOf,
  readBudget,
  readDuration,
  readRate,
  readRatio,
} from "../../harness/files/quantity.js";
import { DAY, HOUR, MINUTE } from "../../lib/pacing/index.js";

test.each([
  ["90 s", 90_000_000],
  ["90s", 90_000_000],
  ["10 ms", 10_000],
  ["1.5 h", 5_400_000_000],
  ["2 min", 2 * MINUTE],
  ["7 d", 7 * DAY],
  ["0.001 ms", 1],
  ["1.000001 s", 1_000_001],
  ["0", 0],
  ["0 s", 0],
  ["never", 0],
])("%s is %i µs", (text, micros) => {
  expect(readDuration(text)).toBe(micros);
});

test.each([
  "",
  "90",
  "s",
  "-1 s",
  "1 s 2",
  "1e3 s",
  "ninety s",
  "1 fortnight",
  "0.0001 ms",
  "1.0000001 s",
  "NaN s",
  "Infinity h",
  "1,5 s",
  "1 µs",
])("%j is no duration", (text) => {
  expect(isRefusal(readDuration(text))).toBe(true);
});

test("every duration of up to 7 days reads back as it is written", () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: 7 * DAY }), (micros) => {
      expect(readDuration(formatDuration(micros))).toBe(micros);
    }),
  );
});

test.each([
  ["60", 1_000_000],
  ["120", 500_000],
  ["7", 8_571_429], // 60 s / 7 = 8.571428…: rounded up, never down.
  ["7.5", 8_000_000],
  ["0.016667", 3_599_928_002],
  ["60000000", 1],
  ["60000001", 1],
])("a cap of %s strokes a minute is a least spacing of %i µs", (text, micros) => {
  expect(readRate(text)).toBe(micros);
});

test("a cap is never exceeded by rounding, and by less than a microsecond not reached", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 6_000_000_000 }), (thousandths) => {
      const text = `${Math.floor(thousandths / 1_000)}.${String(thousandths % 1_000).padStart(3, "0")}`;
      const spacing = BigInt(readRate(text) as number);
      const minute = 60_000_000_000n;
      expect(spacing * BigInt(thousandths) >= minute).toBe(true);
      expect((spacing - 1n) * BigInt(thousandths) < minute).toBe(true);
    }),
  );
});

test("a shown rate reads back to the spacing it is shown for, and is the shortest that does", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 7_000_000 }), (spacing) => {
      expect(readRate(String(rateOf(spacing)))).toBe(spacing);
    }),
  );
  expect([500_000, 8_571_429, 8_000_000, 11, 3_599_928_002].map(rateOf)).toEqual([
    120, 7, 7.5, 5_454_546, 0.016667,
  ]);
});

test("a ratio is two whole numbers with a colon between", () => {
  const texts = [
    "2:1",
    "1:5",
    "3:2",
    "65535:65535",
    "0:1",
    "2:0",
    "1.5",
    "1e9:1",
    "2",
    ":",
    "2:1:1",
    " 2:1",
    "2/1",
  ];
  expect(texts.map((text) => readRatio(text)).map((read) => (isRefusal(read) ? "refused" : read))).toEqual([
    { strokes: 2, contacts: 1 },
    { strokes: 1, contacts: 5 },
    { strokes: 3, contacts: 2 },
    { strokes: 65_535, contacts: 65_535 },
    ...Array.from({ length: 9 }, () => "refused"),
  ]);
});

test.each([
  ["500/h", 500, HOUR],
  ["40/min", 40, MINUTE],
  ["2/s", 2, 1_000_000],
  ["9000/d", 9_000, DAY],
  ["300/8 h", 300, 8 * HOUR],
  ["off", 0, HOUR],
])("the guard %s reads, and is shown as it was written", (text, guardBudgetStrokes, guardPeriodMicros) => {
  const budget = readBudget(text);
  expect(budget).toEqual({ guardBudgetStrokes, guardPeriodMicros });
  expect(isRefusal(budget) ? "" : formatBudget(budget)).toBe(text);
});

test.each(["500", "0/h", "/h", "500/", "500/x", "500/0.1", "5.5/h", "-5/h", "500/h/h"])(
  "%j is no guard",
  (text) => {
    expect(isRefusal(readBudget(text))).toBe(true);
  },
);
