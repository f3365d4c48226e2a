/**
 * Is the best ratio ranked first, and is the advice right where none serves?
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { chooseRatio, type RankedCandidate } from "../../lib/dosing/choose.js";
import { strokesPerContact } from "../../lib/dosing/feed.js";
import type { Mend } from "../../lib/dosing/mend.js";
import { exactIn, fromSi, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { exact } from "../../lib/dosing/units.js";
import { spacingAt } from "../../lib/dosing/spacing.js";
import type { FeedDuty } from "../../lib/dosing/types.js";
import { anyDuty, PLAIN, scaled } from "./duties.js";

const ratioText = ({ strokes, contacts }: { strokes: number; contacts: number }) => `${strokes}:${contacts}`;
const limit = fc.integer({ min: 1, max: 12 });

test("the candidates are every ratio that brute force finds within the tolerance, in the documented order", () => {
  fc.assert(
    fc.property(
      anyDuty,
      limit,
      limit,
      fc.integer({ min: 0, max: 60 }),
      (duty, strokes, contacts, tolerance) => {
        const limits = { strokes, contacts };
        const choice = chooseRatio(duty, { limits, tolerancePercent: tolerance, most: 1_000 });
        expect(choice.candidates.map(ratioText)).toEqual(rankedByBruteForce(duty, limits, tolerance));
      },
    ),
  );
});

function rankedByBruteForce(
  duty: FeedDuty,
  limits: { strokes: number; contacts: number },
  tolerancePercent: number,
): string[] {
  const wanted = strokesPerContact(duty);
  const layout = { cadence: "spread", grace: quantity("duration", 90, "s") } as const;
  const found = [];
  for (let strokes = 1; strokes <= limits.strokes; strokes++) {
    for (let contacts = 1; contacts <= limits.contacts; contacts++) {
      const value = new Fraction(strokes, contacts);
      const error = value.div(wanted).sub(1).abs();
      if (value.n !== BigInt(strokes) || error.mul(100).gt(tolerancePercent)) continue;
      const perMinute = value.mul(duty.peak.si).mul(60).div(duty.contactVolume.si);
      const fit = perMinute.mul(11).div(10).lte(duty.capPerMinute)
        ? 2
        : perMinute.lte(duty.capPerMinute)
          ? 1
          : 0;
      const stretch = spacingAt({ strokes, contacts }, duty.low ?? duty.peak, duty, layout).longest.water.si;
      found.push({ strokes, contacts, error, fit, stretch });
    }
  }
  found.sort(
    (a, b) =>
      b.fit - a.fit ||
      a.error.compare(b.error) ||
      a.stretch.compare(b.stretch) ||
      a.strokes + a.contacts - b.strokes - b.contacts,
  );
  return found.map(ratioText);
}

test("the dose error of the best ratio falls, or stays, as the limits grow", () => {
  fc.assert(
    fc.property(anyDuty, limit, limit, limit, limit, (duty, strokes, contacts, more, further) => {
      const easy = { ...duty, capPerMinute: duty.capPerMinute.mul(1_000) };
      const best = (limits: { strokes: number; contacts: number }): RankedCandidate | undefined =>
        chooseRatio(easy, { limits, tolerancePercent: 99 }).candidates[0];
      const before = best({ strokes, contacts });
      const after = best({ strokes: strokes + more, contacts: contacts + further });
      expect(missed(after)).toBeLessThanOrEqual(missed(before));
    }),
  );
});

function missed(candidate: RankedCandidate | undefined): number {
  return candidate === undefined ? Infinity : Math.abs(candidate.errorPercent);
}

test("scaling every volume by k changes no ratio and no error", () => {
  const factor = fc
    .tuple(fc.integer({ min: 1, max: 10_000 }), fc.integer({ min: 1, max: 10_000 }))
    .map(([n, d]) => new Fraction(n, d));
  const seen = ({ candidates, serves, nearest }: ReturnType<typeof chooseRatio>) => ({
    serves,
    nearest: ratioText(nearest),
    candidates: candidates.map((one) => [ratioText(one), one.errorPercent, one.keepsUp, one.hasMargin]),
  });
  fc.assert(
    fc.property(anyDuty, factor, (duty, k) => {
      expect(seen(chooseRatio(scaled(duty, k)))).toEqual(seen(chooseRatio(duty)));
    }),
  );
});

test("a change that makes a ratio exact does so, and one that lets the pump keep up does so", () => {
  fc.assert(
    fc.property(anyDuty, (duty) => {
      const limits = { strokes: 5, contacts: 5 };
      for (const mend of chooseRatio(duty, { limits, marginPercent: 10 }).mends) {
        if (mend.change === "grace") continue;
        const changed = mended(duty, mend);
        const { candidates } = chooseRatio(changed, { limits, most: 1_000 });
        const exactly = candidates.find((one) => one.errorPercent === 0);
        if (mend.ratio !== undefined) expect(exactly && ratioText(exactly)).toBe(ratioText(mend.ratio));
        if (exactly !== undefined) expect(exactly.hasMargin).toBe(mend.hasMargin);
        if (mend.purpose === "keep-up") expect(mend.hasMargin).toBe(true);
        if (mend.purpose === "whole-ratio" && mend.change === "solution") {
          expect(mend.to.si.lt(mend.from.si)).toBe(true);
        }
      }
    }),
  );
});

function mended(duty: FeedDuty, mend: Exclude<Mend, { change: "grace" }>): FeedDuty {
  switch (mend.change) {
    case "meter":
      return { ...duty, contactVolume: mend.to };
    case "pump":
      return { ...duty, strokeVolume: mend.to };
    case "solution":
      return { ...duty, strength: mend.to };
    case "dose":
      return { ...duty, dose: mend.to };
  }
}

test("a whole ratio that is exact needs no advice", () => {
  const { candidates, mends, serves } = chooseRatio(PLAIN);
  expect({ best: candidates[0] && ratioText(candidates[0]), serves, mends }).toEqual({
    best: "2:1",
    serves: true,
    mends: [],
  });
});

test("where the pump is too slow, the advice is the stroke, the strength or the dose that it can follow", () => {
  // 4 strokes a minute at peak; 3.3 of them, and the margin of 10 %, is what is asked for.
  const slow = { ...PLAIN, capPerMinute: new Fraction(4) };
  const { serves, candidates, mends } = chooseRatio({ ...slow, peak: quantity("flow", 40, "L/min") });
  expect({ serves, spare: candidates[0]?.sparePercentAtPeak }).toEqual({ serves: false, spare: -50 });
  expect(
    mends.map(({ change, purpose, to, hasMargin }) => [change, purpose, inUsual(to), hasMargin]),
  ).toEqual([
    ["pump", "keep-up", "1.1 mL", true],
    ["solution", "keep-up", "22 g/L", true],
    ["dose", "keep-up", `${5 / 11} mg/L`, true],
  ]);
});

function inUsual(to: Mend["to"]): string {
  const unit = { volume: "mL", strength: "g/L", dose: "mg/L", duration: "s" }[to.kind];
  return `${numberIn(to, unit)} ${unit}`;
}

test("no solution is advised that is stronger than is sold, nor another dose where a ratio gives the wanted one", () => {
  const fast = { ...PLAIN, peak: quantity("flow", 9_000, "L/min") };
  expect(chooseRatio(fast).mends.map(({ change, purpose }) => `${change} ${purpose}`)).toEqual([
    "pump keep-up",
    "dose keep-up",
  ]);
  const odd = { ...PLAIN, dose: quantity("dose", "1.1", "mg/L") };
  const changes = [1, 5].map((largest) =>
    chooseRatio(odd, { limits: { strokes: 11, contacts: largest } }).mends.map(({ change }) => change),
  );
  expect(changes).toEqual([
    ["solution", "dose", "pump", "meter"],
    ["solution", "pump", "meter"],
  ]);
});

test("where a contact is worth more than the limits allow, the advice is what brings it to their edge", () => {
  const { candidates, mends } = chooseRatio(PLAIN, { limits: { strokes: 1, contacts: 100 } });
  expect(candidates).toEqual([]);
  expect(
    mends.map(({ change, purpose, to, ratio }) => [change, purpose, inUsual(to), ratio && ratioText(ratio)]),
  ).toEqual([
    ["meter", "within-limits", "5000 mL", "1:1"],
    ["solution", "within-limits", "20 g/L", "1:1"],
    ["pump", "within-limits", "1 mL", "1:1"],
  ]);
});

test("where a contact's strokes cannot be made within the grace, the advice is the grace that is enough, or the largest contact", () => {
  const large = { ...PLAIN, contactVolume: quantity("volume", 1, "m3") };
  const { mends } = chooseRatio(large, { limits: { strokes: 300, contacts: 1 } });
  // 200 strokes a contact; 120 a minute for 90 s is 180.
  expect(mends.map(({ change, purpose, to }) => [change, purpose, inUsual(to)])).toEqual([
    ["grace", "within-grace", "100 s"],
    ["meter", "within-grace", "900000 mL"],
    ["pump", "within-grace", `${5 / 9} mL`],
    ["solution", "within-grace", `${100 / 9} g/L`],
  ]);
});

test("where the cap is so slow that not one stroke fits the grace, the advice is a longer grace, up to a day", () => {
  const advised = ["0.5", "0.001"].map((cap) =>
    chooseRatio({ ...PLAIN, peak: quantity("flow", 1, "mL/min"), capPerMinute: exact(cap) }).mends.flatMap(
      ({ change, purpose, to }) => (purpose === "within-grace" ? [`${change} ${inUsual(to)}`] : []),
    ),
  );
  expect(advised).toEqual([["grace 240 s"], []]);
});

test("where contacts are further apart than the grace, the advice is a grace or a contact that spread has all of", () => {
  // 10 L at 1 L/min is 600 s; 90 s of it is 1.5 L. A mixing volume of 50 L evens out whole contacts.
  const advised = [10, 50].map((litres) =>
    chooseRatio(PLAIN, { mixingVolume: quantity("volume", litres, "L") }).mends.flatMap(
      ({ change, purpose, to }) => (purpose === "spread-at-low" ? [`${change} ${inUsual(to)}`] : []),
    ),
  );
  expect(advised).toEqual([["grace 600 s", "meter 1500 mL"], []]);
});

test("where strokes lie further apart than the mixing evens out, the advice is smaller or weaker strokes", () => {
  // 5 L a stroke, and 10 L that mix: a ripple of a half, where a fifth is allowed.
  const even = { ...PLAIN, low: undefined, typical: undefined };
  const { mends } = chooseRatio(even, { mixingVolume: quantity("volume", 10, "L") });
  expect(mends.map(({ change, purpose, to }) => [change, purpose, inUsual(to)])).toEqual([
    ["solution", "even-feed", "4 g/L"],
    ["pump", "even-feed", "0.2 mL"],
  ]);
});

test("a candidate that keeps up without the margin says so, and ranks behind one that has it", () => {
  // Wanted 2 a contact: 4 a minute at peak. 4.2 is within the cap but without the margin; 19:10 has it.
  const tight = { ...PLAIN, capPerMinute: new Fraction(21, 5) };
  const { candidates } = chooseRatio(tight, { limits: { strokes: 20, contacts: 10 }, tolerancePercent: 5 });
  const shown = candidates.map((one) => [ratioText(one), one.keepsUp, one.hasMargin]);
  expect(shown.slice(0, 2)).toEqual([
    ["19:10", true, true],
    ["2:1", true, false],
  ]);
});

test("of two ratios that miss the dose equally, the one with the shorter stretch of undosed water ranks first", () => {
  // Wanted 5/4: 1:1 is as far below as 3:2 is above, and 3:2 never leaves a whole contact without a stroke.
  const between = { ...PLAIN, dose: quantity("dose", "0.625", "mg/L") };
  const { candidates } = chooseRatio(between, { limits: { strokes: 3, contacts: 2 }, tolerancePercent: 20 });
  expect(candidates.map(ratioText)).toEqual(["3:2", "1:1"]);
});

test("with the largest limits the answer is bounded and the best of it is the best there is", () => {
  const duty = { ...PLAIN, dose: fromSi("dose", exactIn(quantity("dose", "1.2345678", "mg/L"), "kg/m^3")) };
  const { candidates, nearest } = chooseRatio(duty, { limits: { strokes: 65_535, contacts: 65_535 } });
  expect(candidates).toHaveLength(20);
  expect(candidates[0]).toEqual(nearest);
});

test.each([
  ["tolerance", { tolerancePercent: 100 }],
  ["tolerance", { tolerancePercent: Number.NaN }],
  ["margin", { marginPercent: -1 }],
])("a %s out of range is refused", (name, terms) => {
  expect(() => chooseRatio(PLAIN, terms)).toThrow(name);
});
