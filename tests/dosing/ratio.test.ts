/**
 * Is the ratio search exact and complete? Compared with brute force, where brute force can still be afforded.
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { fractionOfRatio, nearestRatio, neighbours, ratiosBetween } from "../../lib/dosing/ratio.js";
import type { Ratio } from "../../lib/dosing/types.js";

const smallLimits = fc.record({
  strokes: fc.integer({ min: 1, max: 14 }),
  contacts: fc.integer({ min: 1, max: 14 }),
});
const fractionTo = (numerator: number, denominator: number) =>
  fc
    .tuple(fc.integer({ min: 1, max: numerator }), fc.integer({ min: 1, max: denominator }))
    .map(([n, d]) => new Fraction(n, d));
// Some are ratios within the limits; others lie below, among and above all of them.
const target = fc.oneof(fractionTo(14, 14), fractionTo(5_000, 300));

/** Every ratio in lowest terms within the limits, in rising order, by trying all pairs. */
function everyRatio(limits: { strokes: number; contacts: number }): Ratio[] {
  const all: Ratio[] = [];
  for (let strokes = 1; strokes <= limits.strokes; strokes++) {
    for (let contacts = 1; contacts <= limits.contacts; contacts++) {
      const lowest = new Fraction(strokes, contacts);
      if (lowest.n === BigInt(strokes)) all.push({ strokes, contacts });
    }
  }
  return all.sort((a, b) => a.strokes * b.contacts - b.strokes * a.contacts);
}

test("the neighbours of a target are those that brute force finds", () => {
  fc.assert(
    fc.property(target, smallLimits, (wanted, limits) => {
      const all = everyRatio(limits);
      expect(neighbours(wanted, limits)).toEqual({
        below: all.filter((ratio) => fractionOfRatio(ratio).lte(wanted)).at(-1),
        above: all.find((ratio) => fractionOfRatio(ratio).gte(wanted)),
      });
    }),
    { numRuns: 500 },
  );
});

test("the nearest ratio is the one that brute force finds, the smaller terms winning a tie", () => {
  fc.assert(
    fc.property(target, smallLimits, (wanted, limits) => {
      const [nearest] = everyRatio(limits).sort(
        (a, b) =>
          fractionOfRatio(a).sub(wanted).abs().compare(fractionOfRatio(b).sub(wanted).abs()) ||
          a.strokes + a.contacts - b.strokes - b.contacts,
      );
      expect(nearestRatio(wanted, limits)).toEqual(nearest);
    }),
    { numRuns: 500 },
  );
});

test("the ratios of a range are exactly those that brute force finds, in rising order", () => {
  fc.assert(
    fc.property(target, target, smallLimits, (one, other, limits) => {
      const [least, most] = one.lte(other) ? [one, other] : [other, one];
      expect([...ratiosBetween(least, most, limits)]).toEqual(
        everyRatio(limits).filter(
          (ratio) => fractionOfRatio(ratio).gte(least) && fractionOfRatio(ratio).lte(most),
        ),
      );
    }),
    { numRuns: 500 },
  );
});

test("a target that is itself a ratio within the limits is its own neighbour on both sides", () => {
  const term = fc.integer({ min: 1, max: 65_535 });
  fc.assert(
    fc.property(term, term, (strokes, contacts) => {
      const wanted = new Fraction(strokes, contacts);
      const ratio = { strokes: Number(wanted.n), contacts: Number(wanted.d) };
      expect(neighbours(wanted, { strokes: 65_535, contacts: 65_535 })).toEqual({
        below: ratio,
        above: ratio,
      });
    }),
  );
});

test("larger limits never make the nearest ratio worse", () => {
  const limit = fc.integer({ min: 1, max: 65_535 });
  fc.assert(
    fc.property(target, limit, limit, limit, limit, (wanted, strokes, contacts, more, further) => {
      const near = nearestRatio(wanted, { strokes, contacts });
      const nearer = nearestRatio(wanted, {
        strokes: Math.min(65_535, strokes + more),
        contacts: Math.min(65_535, contacts + further),
      });
      const missed = (ratio: Ratio) => fractionOfRatio(ratio).sub(wanted).abs();
      expect(missed(nearer).lte(missed(near))).toBe(true);
    }),
  );
});

test.each([
  [
    "nothing fits below the least",
    new Fraction(1, 100),
    { below: undefined, above: { strokes: 1, contacts: 5 } },
  ],
  [
    "nothing fits above the most",
    new Fraction(100),
    { below: { strokes: 5, contacts: 1 }, above: undefined },
  ],
  ["zero", new Fraction(0), { below: undefined, above: { strokes: 1, contacts: 5 } }],
])("neighbours at the ends: %s", (_, wanted, expected) => {
  expect(neighbours(wanted, { strokes: 5, contacts: 5 })).toEqual(expected);
});

test.each([[0], [65_536], [1.5], [Number.NaN]])("a limit of %s is refused", (contacts) => {
  expect(() => nearestRatio(new Fraction(1), { strokes: 1, contacts })).toThrow(RangeError);
});

test("a range of nothing, of less than nothing, or turned about holds no ratio", () => {
  const limits = { strokes: 9, contacts: 9 };
  expect([...ratiosBetween(new Fraction(-2), new Fraction(0), limits)]).toEqual([]);
  expect([...ratiosBetween(new Fraction(3), new Fraction(2), limits)]).toEqual([]);
});
