/**
 * Does a wrapping counter read as one that only grows?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type TickBits, unwrapTicks } from "../../lib/pacing/index.js";

const WIDTHS: readonly { readonly bits: TickBits; readonly wrap: number }[] = [
  { bits: 16, wrap: 65_536 },
  { bits: 24, wrap: 16_777_216 },
  { bits: 32, wrap: 4_294_967_296 },
];

describe.each(WIDTHS)("a counter of $bits bits", ({ bits, wrap }) => {
  test.each([
    { last: 0, raw: 0, now: 0 },
    { last: 0, raw: 1, now: 1 },
    { last: 5, raw: 5, now: 5 },
    { last: 5, raw: 4, now: wrap + 4 },
    { last: wrap - 1, raw: wrap - 1, now: wrap - 1 },
    { last: wrap - 1, raw: 0, now: wrap },
    { last: wrap, raw: wrap - 1, now: 2 * wrap - 1 },
    { last: wrap, raw: 0, now: wrap },
    { last: 3 * wrap + 7, raw: 6, now: 4 * wrap + 6 },
    { last: 3 * wrap + 7, raw: 7, now: 3 * wrap + 7 },
    { last: 3 * wrap + 7, raw: 8, now: 3 * wrap + 8 },
  ])("that last stood at $last and reads $raw stands at $now", ({ last, raw, now }) => {
    expect(unwrapTicks(last, raw, bits)).toBe(now);
  });

  test("reads alike whatever whole wraps the raw value carries, or lacks", () => {
    expect(unwrapTicks(10, wrap + 20, bits)).toBe(20);
    expect(unwrapTicks(10, -1, bits)).toBe(wrap - 1);
    expect(unwrapTicks(10, -wrap + 20, bits)).toBe(20);
  });

  test("follows a true counter that is read at least once a wrap", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: wrap - 1 }), { maxLength: 200 }), (gaps) => {
        let truth = 0;
        let answer = 0;
        for (const gap of gaps) {
          truth += gap;
          answer = unwrapTicks(answer, truth % wrap, bits);
          expect(answer).toBe(truth);
        }
      }),
    );
  });

  test("a silence of a whole wrap is lost: it cannot be told from none", () => {
    expect(unwrapTicks(7, (7 + wrap) % wrap, bits)).toBe(7);
  });
});
