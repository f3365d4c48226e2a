/**
 * Times in a trace: decimal seconds, read and written without rounding.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { LAST_MICROS } from "../../lib/pacing/index.js";
import { formatSeconds, parseSeconds } from "../../lib/trace/index.js";

test("every time reads back as it was written, to the microsecond", () => {
  fc.assert(
    fc.property(fc.integer({ min: 0, max: LAST_MICROS }), (micros) => {
      expect(parseSeconds(formatSeconds(micros))).toBe(micros);
    }),
  );
});

test.each([
  ["none", "0", 0],
  ["a whole second", "1", 1_000_000],
  ["one decimal", "0.5", 500_000],
  ["the smallest", "0.000001", 1],
  ["what a float would round", "0.1", 100_000],
  ["leading zeros", "007.25", 7_250_000],
  ["the last", "4503599627.370496", LAST_MICROS],
])("%s reads exactly: %s", (_, text, micros) => {
  expect(parseSeconds(text)).toBe(micros);
});

test.each([
  ["nothing", ""],
  ["a word", "NaN"],
  ["infinite", "Infinity"],
  ["negative", "-1"],
  ["a sign", "+1"],
  ["an exponent", "1e30"],
  ["hexadecimal", "0x10"],
  ["a seventh decimal", "1.0000001"],
  ["no digit before the point", ".5"],
  ["no digit after the point", "5."],
  ["a decimal comma", "1,5"],
  ["a space", " 1"],
  ["a carriage return", "1\r"],
  ["just past the last", "4503599627.370497"],
  ["eleven digits", "10000000000"],
  ["other digits", "١"],
])("%s is no time: %j", (_, text) => {
  expect(parseSeconds(text)).toBeUndefined();
});
