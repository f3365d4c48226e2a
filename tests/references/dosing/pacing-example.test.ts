/**
 * A regulator's own example of a chlorine dose, run from ratio to strokes.
 *
 * Source: Example Calculations of Chlorine Dosage, California State Water Resources Control Board, Division of Drinking
 * Water, 2018, Dosage Example 2: 40 mL/min of 0.25 % w/v sodium hypochlorite into 35 gal/min gives 0.72 mg/L as Cl2
 * (0.7189 before it is rounded). The contact of 1 gal and the stroke of 0.5 mL are ours: 80 strokes for 35 contacts.
 */
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { runModel } from "../../../harness/devices/model.js";
import { chooseRatio } from "../../../lib/dosing/choose.js";
import { doseOfRatio } from "../../../lib/dosing/feed.js";
import { numberIn, quantity, type Strength } from "../../../lib/dosing/quantity.js";
import { CHLORINE_PER_HYPOCHLORITE } from "../../../lib/dosing/solution.js";
import { capBitesAt, doseAt } from "../../../lib/dosing/turndown.js";
import type { FeedDuty } from "../../../lib/dosing/types.js";
import { SECOND, validateSettings } from "../../../lib/pacing/index.js";

const SOLUTION: Strength = quantity("strength", CHLORINE_PER_HYPOCHLORITE.mul("2.5"), "g/L");
const RATIO = { strokes: 16, contacts: 7 };
const PARTS = {
  contactVolume: quantity("volume", 1, "gal"),
  strength: SOLUTION,
  strokeVolume: quantity("volume", "0.5", "mL"),
  peak: quantity("flow", 35, "gal/min"),
};
const EXAMPLE: FeedDuty = { ...PARTS, dose: doseOfRatio(RATIO, PARTS), capPerMinute: new Fraction(120) };

test("the dose of 16 strokes for 7 contacts is the printed 0.72 mg/L", () => {
  expect(numberIn(EXAMPLE.dose, "mg/L").toFixed(2)).toBe("0.72");
});

test("the ratio found for that dose is 16:7, without error, at 80 strokes a minute", () => {
  const best = chooseRatio(EXAMPLE).candidates[0];
  expect([best?.strokes, best?.contacts, best?.errorPercent, best?.strokesPerMinuteAtPeak]).toEqual([
    16, 7, 0, 80,
  ]);
});

test("an hour of 2,100 contacts makes 4,800 strokes, 2,400 mL, which is the printed dose again", () => {
  const verdict = validateSettings({ ...RATIO, leastSpacingMicros: SECOND / 2 });
  if (!verdict.ok) throw new Error("refused");
  const run = runModel(verdict.settings, () => undefined);
  for (let k = 1; k <= 2_100; k++) {
    run.give({ kind: "contact", atMicros: Math.round((k * 60 * SECOND) / 35) });
  }
  run.end(3_700 * SECOND);
  const fedMillilitres = run.state.paced * 0.5;
  const dose = (fedMillilitres * numberIn(SOLUTION, "g/L")) / (2_100 * 3.785411784);
  expect([run.state.paced, fedMillilitres, dose.toFixed(2)]).toEqual([4_800, 2_400, "0.72"]);
});

test("a cap of 60 strokes a minute is enough for 26.25 gal/min, and gives 0.54 mg/L at 35", () => {
  const capped = { ...EXAMPLE, capPerMinute: new Fraction(60) };
  expect([
    numberIn(capBitesAt(capped, RATIO), "gal/min"),
    numberIn(doseAt(capped, RATIO, EXAMPLE.peak), "mg/L").toFixed(2),
  ]).toEqual([26.25, "0.54"]);
});
