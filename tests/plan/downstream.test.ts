/**
 * Does a plan tell what each cadence leaves uneven?
 */
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { downstreamOf } from "../../harness/plan/downstream.js";
import { planFeed, type PlanInput, quantity } from "../../lib/dosing/index.js";

/** Ten strokes a contact; at low flow the contacts are further apart than the still-water grace. */
const INPUT: PlanInput = {
  contactVolume: quantity("volume", 100, "L"),
  dose: quantity("dose", 1, "mg/L"),
  strength: quantity("strength", 10, "g/L"),
  stroke: { from: "measured", volume: quantity("volume", 1, "mL") },
  capPerMinute: new Fraction(120),
  peak: quantity("flow", 100, "L/min"),
  low: quantity("flow", 5, "L/min"),
  mixingVolume: quantity("volume", 60, "L"),
};

const rounded = (value: number) => Math.round(value * 1_000) / 1_000;

test("spread is even at peak, and no better than prompt where contacts are further apart than the grace", () => {
  const rows = downstreamOf(planFeed(INPUT)).map(({ at, cadence, peakToMean, under80Percent, underHalf }) => [
    at,
    cadence,
    ...[peakToMean, under80Percent, underHalf].map(rounded),
  ]);
  expect(rows).toEqual([
    ["low", "spread", 1.944, 0.415, 0.118],
    ["low", "prompt", 2.048, 0.433, 0.15],
    ["peak", "spread", 1.086, 0, 0],
    ["peak", "prompt", 1.932, 0.413, 0.114],
  ]);
});

test("spread at peak is as even as one mixed volume fed 10 L a stroke can be: e/(1 − exp(−e)), e = 10/60", () => {
  const peak = downstreamOf(planFeed(INPUT)).find(({ at, cadence }) => at === "peak" && cadence === "spread");
  expect(peak?.peakToMean).toBeCloseTo(1 / 6 / (1 - Math.exp(-1 / 6)), 6);
});

test("beyond the cap all of the water is short", () => {
  const slow = { ...INPUT, capPerMinute: new Fraction(7) };
  const peak = downstreamOf(planFeed(slow)).filter(({ at }) => at === "peak");
  expect(peak.map(({ underWanted }) => rounded(underWanted))).toEqual([1, 1]);
});

test("without a mixing volume nothing is told", () => {
  expect(downstreamOf(planFeed({ ...INPUT, mixingVolume: undefined }))).toEqual([]);
});
