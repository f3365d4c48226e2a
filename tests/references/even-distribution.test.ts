/**
 * Are strokes spread over contacts as evenly as whole numbers allow?
 *
 * Published patterns and sequences are put against the strokes that the pacer really makes, contact by contact. A
 * ratio m:d earns ⌊(k+1)·m/d⌋ − ⌊k·m/d⌋ strokes on contact k, counted from 0: a mechanical word of slope m/d.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { newState, stepInPlace } from "../../lib/pacing/index.js";
import { contacts, run, strokesAfterEach, valid } from "../pacing/kit.js";

/** Strokes made after each of `count` contacts, a second apart. */
function strokesPerContact(ratio: { strokes: number; contacts: number }, count: number): number[] {
  const settings = valid({ ...ratio, cadence: "prompt", leastSpacingMicros: 1 });
  const inputs = contacts(count);
  return strokesAfterEach(inputs, run(settings, inputs, (count + 1) * 1_000_000).effects);
}

function rotations(pattern: readonly number[]): string[] {
  return pattern.map((_, i) => [...pattern.slice(i), ...pattern.slice(0, i)].join(""));
}

/**
 * Source: G. Toussaint, The Euclidean Algorithm Generates Traditional Musical Rhythms, Proc. BRIDGES 2005, pp. 47-56,
 * list of Euclidean rhythms: E(m,n) spreads m onsets over n places, up to rotation. Ids `euclid-m-n` for eight of
 * them; all were read in two public restatements of the list. Both print E(5,16) with 17 places; here it has the 16 of
 * the distances printed beside it, (33334).
 */
const EUCLIDEAN = [
  { name: "E(2,3)", pattern: "x.x" },
  { name: "E(2,5)", pattern: "x.x.." },
  { name: "E(3,4)", pattern: "x.xx" },
  { name: "E(3,5)", pattern: "x.x.x" },
  { name: "E(3,7)", pattern: "x.x.x.." },
  { name: "E(3,8)", pattern: "x..x..x." },
  { name: "E(4,7)", pattern: "x.x.x.x" },
  { name: "E(4,9)", pattern: "x.x.x.x.." },
  { name: "E(4,11)", pattern: "x..x..x..x." },
  { name: "E(5,6)", pattern: "x.xxxx" },
  { name: "E(5,7)", pattern: "x.xx.xx" },
  { name: "E(5,8)", pattern: "x.xx.xx." },
  { name: "E(5,9)", pattern: "x.x.x.x.x" },
  { name: "E(5,11)", pattern: "x.x.x.x.x.." },
  { name: "E(5,12)", pattern: "x..x.x..x.x." },
  { name: "E(5,16)", pattern: "x..x..x..x..x..." },
  { name: "E(7,8)", pattern: "x.xxxxxx" },
  { name: "E(7,12)", pattern: "x.xx.x.xx.x." },
  { name: "E(7,16)", pattern: "x..x.x.x..x.x.x." },
  { name: "E(9,16)", pattern: "x.xx.x.x.xx.x.x." },
  { name: "E(11,24)", pattern: "x..x.x.x.x.x..x.x.x.x.x." },
  { name: "E(13,24)", pattern: "x.xx.x.x.x.x.xx.x.x.x.x." },
  // Id `round-5-12`: 5 in 12 by rounding falls on 0 2 5 7 10 (mailing list of Pure Data, May 2011); by truncation,
  // which only turns the pattern, on 0 2 4 7 9 (derived).
  { name: "5 in 12, rounded", pattern: "x.x..x.x..x." },
  { name: "5 in 12, truncated", pattern: "x.x.x..x.x.." },
];

test.each(EUCLIDEAN)("$name is what the pacer does at that ratio, up to rotation", ({ pattern }) => {
  const places = pattern.split("").map((place) => (place === "x" ? 1 : 0));
  const strokes = places.filter((place) => place === 1).length;
  const made = strokesPerContact({ strokes, contacts: places.length }, 2 * places.length);
  expect(rotations(places)).toContain(made.slice(0, places.length).join(""));
  expect(made.slice(places.length)).toEqual(made.slice(0, places.length));
});

/**
 * Source: On-Line Encyclopedia of Integer Sequences, first differences of the Beatty sequence of r:
 * floor((k+1)·r) − floor(k·r) from k = 0, the first 34 terms (ids `oeis-…`, confirmed).
 *
 * The ratio is the largest convergent of r with terms in range. No fraction with a smaller denominator lies between
 * r and a convergent of it (best approximation), hence none n/k with k below it: ⌊k·m/d⌋ = ⌊k·r⌋ for all k < d.
 */
const BEATTY = [
  {
    name: "A276857 (2016), r = √7",
    ratio: { strokes: 32_257, contacts: 12_192 },
    square: 7n,
    whole: 0n,
    terms: "2323323323323323233233233233233232",
  },
  {
    name: "A080757, r = √3",
    ratio: { strokes: 18_817, contacts: 10_864 },
    square: 3n,
    whole: 0n,
    terms: "1221222122212212221222122212212221",
  },
  {
    name: "A276866 (2016), r = 2 + √5",
    ratio: { strokes: 23_184, contacts: 5_473 },
    square: 5n,
    whole: 2n,
    terms: "4444544454445444544445444544454445",
  },
];

/** ⌊√n⌋, exactly. */
function rootFloor(n: bigint): bigint {
  let root = BigInt(Math.floor(Math.sqrt(Number(n))));
  while (root * root > n) root -= 1n;
  while ((root + 1n) * (root + 1n) <= n) root += 1n;
  return root;
}

describe.each(BEATTY)("$name", ({ ratio, square, whole, terms }) => {
  test("the pacer makes the published numbers of strokes, contact by contact", () => {
    expect(strokesPerContact(ratio, terms.length).join("")).toBe(terms);
  });

  test("and ⌊k·r⌋ strokes for every number of contacts below the ratio's own", () => {
    const beatty = Array.from({ length: ratio.contacts }, (_, k) => {
      return Number(BigInt(k) * whole + rootFloor(square * BigInt(k) * BigInt(k)));
    });
    expect(earnedAfterEach(ratio, ratio.contacts - 1)).toEqual(beatty.slice(1));
  });
});

/** Strokes earned after each of `count` contacts, in total. */
function earnedAfterEach(ratio: { strokes: number; contacts: number }, count: number): number[] {
  const state = newState(valid({ ...ratio, leastSpacingMicros: 1 }));
  return Array.from({ length: count }, (_, k) => {
    stepInPlace(state, { kind: "contact", atMicros: k });
    return state.earned;
  });
}

const RATIO = fc.record({
  strokes: fc.oneof(fc.integer({ min: 1, max: 20 }), fc.integer({ min: 1, max: 65_535 })),
  contacts: fc.oneof(fc.integer({ min: 1, max: 20 }), fc.integer({ min: 1, max: 65_535 })),
});

// M. Morse and G. A. Hedlund, Symbolic Dynamics II: Sturmian Trajectories, American J. Math. 62, 1940; J.-P. Allouche
// and J. Shallit, Automatic Sequences, CUP 2003, ch. 9 (ids `pace-invariant-…`; both from memory, not confirmed).
describe("balanced words", () => {
  test("any two windows of equally many contacts earn numbers of strokes that differ by at most one", () => {
    fc.assert(
      fc.property(RATIO, fc.integer({ min: 1, max: 300 }), (ratio, count) => {
        const earned = [0, ...earnedAfterEach(ratio, count)];
        for (let length = 1; length <= count; length++) {
          let least = Infinity;
          let most = 0;
          for (let k = length; k <= count; k++) {
            const inWindow = (earned[k] as number) - (earned[k - length] as number);
            least = Math.min(least, inWindow);
            most = Math.max(most, inWindow);
          }
          if (most - least > 1) expect({ length, least, most }).toBe("balanced");
        }
      }),
    );
  });

  test("at every contact 0 ≤ k·m/d − strokes < 1", () => {
    fc.assert(
      fc.property(RATIO, fc.integer({ min: 1, max: 2_000 }), ({ strokes, contacts: d }, count) => {
        const errors = earnedAfterEach({ strokes, contacts: d }, count).map((earned, i) => {
          return (i + 1) * strokes - earned * d;
        });
        expect(errors.filter((error) => error < 0 || error >= d)).toEqual([]);
      }),
    );
  });

  test("a ratio of at most one stroke a contact fires as the integer error accumulator does", () => {
    // J. E. Bresenham, Algorithm for computer control of a digital plotter, IBM Systems Journal 4(1), 1965, pp. 25-30
    // (id `bresenham`; from memory, not confirmed): e += m; where e ≥ d, fire and e −= d.
    fc.assert(
      fc.property(RATIO, ({ strokes: a, contacts: b }) => {
        const [m, d] = a < b ? [a, b] : [b, a];
        let error = 0;
        let fired = 0;
        const accumulated = Array.from({ length: 500 }, () => {
          error += m;
          if (error >= d) {
            fired += 1;
            error -= d;
          }
          return fired;
        });
        expect(earnedAfterEach({ strokes: m, contacts: d }, 500)).toEqual(accumulated);
      }),
    );
  });
});

test("k strokes over 600 contacts are exactly k, no two gaps differing by more than one, for every k", () => {
  // E. Bjorklund's setting: k actions over the 600 slots of a 10 s cycle of an accelerator, as told in "Beats by
  // Bjorklund", Point at Infinity, 2018 (id `sns-supercycle`).
  for (let k = 1; k <= 600; k++) {
    const earned = [0, ...earnedAfterEach({ strokes: k, contacts: 600 }, 1_200)];
    const places = earned.flatMap((total, i) => (total > (earned[i - 1] ?? 0) ? [i] : []));
    const gaps = places.slice(1).map((place, i) => place - (places[i] as number));
    expect([k, earned[600]]).toEqual([k, k]);
    expect(Math.max(...gaps) - Math.min(...gaps)).toBeLessThanOrEqual(1);
  }
});

test("a phase accumulator of some 1/82.8 fires on step 83, then every 82 or 83 steps", () => {
  // S. Dattalo, Fitting pulses into a time slot, microcontroller mailing list, 3 September 2002 (id
  // `phase-acc-1781-147465`): 1781/147465 stands at 0.99035 after 82 steps and at 1.0024 after 83. 147,465 is out of our range
  // and shares no factor with 1,781, so its largest convergent in range stands for it; the total of 1,781 cannot be
  // shown with it, its own total can.
  const ratio = { strokes: 791, contacts: 65_494 };
  expect((82 * ratio.strokes) / ratio.contacts).toBeCloseTo(0.99035, 5);
  expect((83 * ratio.strokes) / ratio.contacts).toBeCloseTo(1.0024, 4);
  const earned = [0, ...earnedAfterEach(ratio, ratio.contacts)];
  const places = earned.flatMap((total, i) => (total > (earned[i - 1] ?? 0) ? [i] : []));
  const gaps = places.map((place, i) => place - (places[i - 1] ?? 0));
  expect(gaps[0]).toBe(83);
  expect([...new Set(gaps)].sort()).toEqual([82, 83]);
  expect(places.length).toBe(791);
});
