/**
 * Is what a ratio does from low flow to peak told right, and does the pacer then do it?
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { chooseRatio } from "../../lib/dosing/choose.js";
import { exactIn, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { doseAt, turndown } from "../../lib/dosing/turndown.js";
import type { FeedDuty, Ratio } from "../../lib/dosing/types.js";
import { type Settings, validateSettings } from "../../lib/pacing/index.js";
import { anyDuty, PLAIN } from "./duties.js";

test("plan, then simulate: the water gets the wanted dose within the stated error and one stroke", () => {
  const turns = fc.array(fc.double({ min: 1, max: 8, noNaN: true }), { minLength: 5, maxLength: 60 });
  fc.assert(
    fc.property(anyDuty, fc.constantFrom("spread", "prompt"), turns, (duty, cadence, intervals) => {
      const choice = chooseRatio(duty);
      const best = choice.candidates[0];
      if (best === undefined || !best.hasMargin) return;
      const verdict = settingsOf(duty, best, cadence);
      // The plan says so beforehand where the strokes of a contact do not fit within the grace; where not even one
      // does, only a longer grace or a faster cap helps.
      if (verdict === undefined) {
        const foretold = choice.mends.some(({ purpose }) => purpose === "within-grace");
        expect(foretold || duty.capPerMinute.lt(new Fraction(60, 90))).toBe(true);
        return;
      }
      // From contact to contact it takes 1 to 8 times as long as at peak.
      const peakMicros = (numberIn(duty.contactVolume, "L") / numberIn(duty.peak, "L/min")) * 60_000_000;
      const { strokes, shed } = simulate(
        verdict,
        intervals.map((turn) => Math.ceil(turn * peakMicros)),
      );
      const given = exactIn(duty.strokeVolume, "L").mul(strokes).mul(exactIn(duty.strength, "mg/L"));
      const wanted = exactIn(duty.contactVolume, "L").mul(intervals.length).mul(exactIn(duty.dose, "mg/L"));
      const oneStroke = exactIn(duty.strokeVolume, "L").mul(exactIn(duty.strength, "mg/L"));
      const allowed = wanted.mul(Math.abs(best.errorPercent) / 100 + 1e-12).add(oneStroke);
      expect({ shed, within: given.sub(wanted).abs().lte(allowed) }).toEqual({ shed: 0, within: true });
    }),
    { numRuns: 200 },
  );
});

function settingsOf(duty: FeedDuty, ratio: Ratio, cadence: "spread" | "prompt"): Settings | undefined {
  const verdict = validateSettings({
    strokes: ratio.strokes,
    contacts: ratio.contacts,
    cadence,
    leastSpacingMicros: Number(new Fraction(60_000_000).div(duty.capPerMinute).ceil()),
  });
  return verdict.ok ? verdict.settings : undefined;
}

function simulate(settings: Settings, intervals: readonly number[]): { strokes: number; shed: number } {
  const run = runModel(settings, () => undefined);
  let atMicros = 0;
  for (const interval of intervals) {
    atMicros += interval;
    run.give({ kind: "contact", atMicros });
  }
  run.end(atMicros + settings.graceMicros + 1);
  const { paced, earned } = run.state;
  return { strokes: paced, shed: earned - paced };
}

test("at a steady flow beyond the cap the pacer gives the dose that was foretold", () => {
  fc.assert(
    fc.property(anyDuty, fc.integer({ min: 101, max: 400 }), (duty, percentOfCap) => {
      const ratio = chooseRatio(duty).nearest;
      const settings = settingsOf(duty, ratio, "spread");
      if (settings === undefined) return;
      const { capBitesAt } = turndown(duty, ratio);
      const flow = quantity("flow", exactIn(capBitesAt, "L/min").mul(percentOfCap).div(100), "L/min");
      const interval = (numberIn(duty.contactVolume, "L") / numberIn(flow, "L/min")) * 60_000_000;
      // Long enough that the strokes still owed at the end, up to the owed limit, weigh less than a hundredth.
      const contacts = Math.ceil((settings.owedLimitStrokes * 200 * ratio.contacts) / ratio.strokes);
      if (contacts > 20_000 || interval < 1_000) return;
      const run = runModel(settings, () => undefined);
      for (let k = 1; k <= contacts; k++) run.give({ kind: "contact", atMicros: Math.round(k * interval) });
      const perLitre = numberIn(duty.strokeVolume, "L") * numberIn(duty.strength, "mg/L");
      const dose = (run.state.paced * perLitre) / (contacts * numberIn(duty.contactVolume, "L"));
      const foretold = numberIn(doseAt(duty, ratio, flow), "mg/L");
      expect(Math.abs(dose / foretold - 1)).toBeLessThan(0.02);
    }),
    { numRuns: 50 },
  );
});

test("a row for each flow, and the day's solution, of a duty worked by hand", () => {
  const { rows, capBitesAt, solutionPerDay, shortPerHourAtPeak } = turndown(PLAIN, {
    strokes: 2,
    contacts: 1,
  });
  const shown = rows.map(({ at, strokesAsked, strokesMade, capBites, spacing, dose, errorPercent }) => [
    at,
    strokesAsked.valueOf(),
    strokesMade.valueOf(),
    capBites,
    numberIn(spacing.mean.water, "L"),
    numberIn(spacing.longest.water, "L"),
    numberIn(spacing.longest.time, "s"),
    numberIn(dose, "mg/L"),
    errorPercent,
  ]);
  // At 1 L/min a contact comes every 600 s; its two strokes fall 22.5 s and 67.5 s after it, within the grace of 90 s.
  expect(shown).toEqual([
    ["low", 0.2, 0.2, false, 5, 555 / 60, 555, 1, 0],
    ["typical", 1.6, 1.6, false, 5, 5, 37.5, 1, 0],
    ["peak", 4, 4, false, 5, 5, 15, 1, 0],
  ]);
  expect([
    numberIn(capBitesAt, "L/min"),
    numberIn(solutionPerDay, "L"),
    numberIn(shortPerHourAtPeak, "mg"),
  ]).toEqual([600, 1.152, 0]);
});

test("the cap makes the dose fall in proportion, and what is short is told", () => {
  // 3 strokes a minute are enough for 15 of the 20 L/min.
  const slow = { ...PLAIN, capPerMinute: new Fraction(3) };
  const { rows, capBitesAt, shortPerHourAtPeak } = turndown(slow, { strokes: 2, contacts: 1 });
  const peak = rows.at(-1);
  expect([peak?.capBites, peak?.strokesMade.valueOf(), peak?.errorPercent]).toEqual([true, 3, -25]);
  expect([numberIn(capBitesAt, "L/min"), numberIn(shortPerHourAtPeak, "mg")]).toEqual([15, 300]);
});

test.each([
  ["the tank, where it is empty before it is old", 10, "tank"],
  ["age, where the tank would outlast it", 1_000, "age"],
])("the refill interval is limited by %s", (_, litres, limitedBy) => {
  const { stock } = turndown(
    PLAIN,
    { strokes: 2, contacts: 1 },
    {
      stock: {
        tank: quantity("volume", litres, "L"),
        storage: quantity("temperature", 25, "°C"),
        leastShare: 0.9,
      },
    },
  );
  if (stock === undefined) throw new Error("no stock");
  const days = numberIn(stock.refill, "day");
  expect([stock.limitedBy, days]).toEqual([
    limitedBy,
    Math.min(litres / 1.152, numberIn(stock.untilAged, "day")),
  ]);
  expect(numberIn(stock.doseAtRefill, "mg/L")).toBeCloseTo(numberIn(stock.strengthAtRefill, "g/L") / 10, 9);
  if (limitedBy === "age") expect(numberIn(stock.doseAtRefill, "mg/L")).toBeCloseTo(0.9, 6);
});
