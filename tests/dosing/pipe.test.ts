/**
 * Does the pipe keep its mass, and are its figures those of its own curve?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { newPipe, type PipeTerms } from "../../lib/dosing/pipe.js";
import { quantity } from "../../lib/dosing/quantity.js";
import { TANKS_MOST } from "../../lib/dosing/tanks.js";

const TERMS: PipeTerms = {
  mixingVolume: quantity("volume", 20, "L"),
  tanks: 1,
  strokeMass: quantity("mass", 5, "mg"),
  wanted: quantity("dose", 1, "mg/L"),
};

const event = fc.record({
  waitMicros: fc.oneof(fc.integer({ min: 0, max: 5_000_000 }), fc.integer({ min: 0, max: 100_000_000_000 })),
  litresPerSecond: fc.oneof(fc.constant(0), fc.double({ min: 1e-9, max: 10, noNaN: true })),
  strokes: fc.integer({ min: 0, max: 3 }),
});
const terms = fc.record({
  mixingVolume: fc
    .double({ min: 0.01, max: 1_000, noNaN: true })
    .map((litres) => quantity("volume", litres, "L")),
  tanks: fc.integer({ min: 1, max: TANKS_MOST }),
  decayPerHour: fc.oneof(fc.constant(0), fc.double({ min: 0, max: 100, noNaN: true })),
  strokeMass: fc.integer({ min: 1, max: 1_000 }).map((mg) => quantity("mass", mg, "mg")),
  start: fc.integer({ min: 0, max: 5 }).map((dose) => quantity("dose", dose, "mg/L")),
  wanted: fc.constant(quantity("dose", 1, "mg/L")),
});

test("mass is conserved: what was there and was fed has left, has decayed or is still held", () => {
  fc.assert(
    fc.property(terms, fc.array(event, { maxLength: 40 }), (given, events) => {
      const pipe = newPipe(given);
      let atMicros = 0;
      for (const { waitMicros, litresPerSecond, strokes } of events) {
        pipe.flow((atMicros += waitMicros), litresPerSecond);
        for (let i = 0; i < strokes; i++) pipe.stroke(atMicros);
      }
      const { balance } = pipe.figures();
      const into = balance.startMg + balance.fedMg;
      const lost = into - balance.outMg - balance.decayedMg - balance.heldMg;
      expect(Math.abs(lost)).toBeLessThanOrEqual(into * 1e-11);
    }),
    { numRuns: 300 },
  );
});

test("a step cut in pieces leaves the same concentration as the step in one", () => {
  const cuts = fc.array(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: 1, maxLength: 20 });
  fc.assert(
    fc.property(terms, cuts, fc.double({ min: 0, max: 2, noNaN: true }), (given, pieces, litresPerSecond) => {
      const [whole, cut] = [newPipe(given), newPipe(given)];
      let atMicros = 0;
      for (const pipe of [whole, cut]) {
        pipe.flow(0, litresPerSecond);
        pipe.stroke(0);
      }
      for (const piece of pieces) cut.advance((atMicros += Math.round(piece * 60_000_000)));
      whole.advance(atMicros);
      expect(Math.abs(cut.mgPerLitre - whole.mgPerLitre)).toBeLessThanOrEqual(1e-12 * (1 + whole.mgPerLitre));
    }),
  );
});

test("peak, lowest and shares under the wanted dose are those of the curve looked at a thousand times a stroke", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 6 }),
      fc.integer({ min: 1, max: 40 }),
      fc.double({ min: 0, max: 2, noNaN: true }),
      (tanks, litresPerStroke, decayPerHour) => {
        const given = {
          ...TERMS,
          tanks,
          decayPerHour,
          strokeMass: quantity("mass", litresPerStroke, "mg"),
          countFromMicros: 600_000_000,
        };
        // One litre a second; a stroke of 1 mg a litre every so many litres.
        const [pipe, seen] = [newPipe(given), newPipe(given)];
        const sampled: number[] = [];
        pipe.flow(0, 1);
        seen.flow(0, 1);
        for (let second = 0; second < 600 + litresPerStroke * 3; second += litresPerStroke) {
          pipe.stroke(second * 1_000_000);
          seen.stroke(second * 1_000_000);
          for (let i = 0; i <= 1_000; i++) {
            const at = (second + (litresPerStroke * i) / 1_000) * 1_000_000;
            seen.advance(at);
            if (at > given.countFromMicros) sampled.push(seen.mgPerLitre);
          }
          pipe.advance((second + litresPerStroke) * 1_000_000);
        }
        const figures = pipe.figures();
        const share = sampled.filter((one) => one < 1).length / sampled.length;
        // The step across the start of the count is counted whole: a small part of the water of three strokes.
        expect(Math.abs((figures.under[0]?.share ?? NaN) - share)).toBeLessThan(0.05);
        expect(figures.peakMgPerLitre).toBeGreaterThanOrEqual(Math.max(...sampled) * (1 - 1e-12));
        expect(figures.peakMgPerLitre).toBeLessThanOrEqual(Math.max(...sampled) * 1.001);
        expect(figures.lowestMgPerLitre).toBeLessThanOrEqual(Math.min(...sampled) * (1 + 1e-12));
      },
    ),
    { numRuns: 30 },
  );
});

test("no water, no figures", () => {
  const pipe = newPipe(TERMS);
  pipe.stroke(0);
  pipe.advance(1_000_000);
  expect(pipe.figures()).toEqual({
    litres: 0,
    meanMgPerLitre: undefined,
    peakMgPerLitre: undefined,
    lowestMgPerLitre: undefined,
    peakToMean: undefined,
    under: [1, 0.8, 0.5].map((partOfWanted) => ({ partOfWanted, share: undefined })),
    steadyMicros: undefined,
    balance: { startMg: 0, fedMg: 5, outMg: 0, decayedMg: 0, heldMg: 5 },
  });
});

test("a time that goes back acts at the last time", () => {
  const [back, straight] = [newPipe(TERMS), newPipe(TERMS)];
  for (const pipe of [back, straight]) {
    pipe.flow(0, 1);
    pipe.stroke(0);
    pipe.advance(5_000_000);
  }
  back.advance(1_000_000);
  expect(back.figures()).toEqual(straight.figures());
});

test.each([
  ["tanks", { tanks: 0 }],
  ["tanks", { tanks: 2.5 }],
  ["tanks", { tanks: TANKS_MOST + 1 }],
  ["decay", { decayPerHour: -1 }],
  ["decay", { decayPerHour: Number.NaN }],
  ["mixing volume", { mixingVolume: quantity("volume", 0, "L") }],
])("%s out of range are refused", (name, wrong) => {
  expect(() => newPipe({ ...TERMS, ...wrong })).toThrow(name);
});
