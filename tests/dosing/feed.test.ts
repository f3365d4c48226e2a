/**
 * Is the feed arithmetic exact, and does what goes in come out?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { demandOf, doseFor, residualOf } from "../../lib/dosing/demand.js";
import {
  doseOf,
  doseOfRatio,
  massFeed,
  massFor,
  solutionFeed,
  solutionFor,
  strokesPerContact,
  strokesPerMinute,
} from "../../lib/dosing/feed.js";
import {
  drawdownStrokeVolume,
  pumpOutput,
  ratedStrokeVolume,
  settingPercent,
  strokeSettingWarning,
  type StrokeSource,
} from "../../lib/dosing/pump.js";
import { exactIn, fromSi, quantity } from "../../lib/dosing/quantity.js";
import { exact } from "../../lib/dosing/units.js";

const decimal = fc
  .tuple(fc.integer({ min: 1, max: 9_999 }), fc.integer({ min: -3, max: 2 }))
  .map(([n, power]) => exact(`${n}e${power}`));
const duty = fc.record({
  contactVolume: decimal.map((n) => quantity("volume", n, "gal")),
  dose: decimal.map((n) => quantity("dose", n, "mg/L")),
  strength: decimal.map((n) => quantity("strength", n, "g/L")),
  strokeVolume: decimal.map((n) => quantity("volume", n, "mL")),
});

test("strokes per contact, taken as a ratio, give the wanted dose back to the last digit", () => {
  fc.assert(
    fc.property(duty, (given) => {
      const { n, d } = strokesPerContact(given);
      const fed = given.strokeVolume.si.mul(n).div(d).mul(given.strength.si);
      expect(fed.div(given.contactVolume.si).equals(given.dose.si)).toBe(true);
    }),
  );
});

test("scaling every volume by one factor changes no ratio", () => {
  fc.assert(
    fc.property(duty, decimal, (given, factor) => {
      const scaled = {
        ...given,
        contactVolume: fromSi("volume", given.contactVolume.si.mul(factor)),
        strokeVolume: fromSi("volume", given.strokeVolume.si.mul(factor)),
      };
      expect(strokesPerContact(scaled).equals(strokesPerContact(given))).toBe(true);
    }),
  );
});

test("10 gal, 1.2 mg/L, 5.25 % and 0.34 mL make exactly 3785411784/1487500000 strokes per contact", () => {
  const strokes = strokesPerContact({
    contactVolume: quantity("volume", 10, "gal"),
    dose: quantity("dose", "1.2", "mg/L"),
    strength: quantity("strength", "52.5", "g/L"),
    strokeVolume: quantity("volume", "0.34", "mL"),
  });
  expect(strokes.equals(exact("3785411784").div("1487500000"))).toBe(true);
});

test("chlorine fed as solution is the chlorine the water needs, and gives its dose back", () => {
  fc.assert(
    fc.property(duty, decimal, ({ dose, strength, contactVolume }, litresPerMinute) => {
      const water = quantity("flow", litresPerMinute, "L/min");
      const feed = massFeed(water, dose);
      expect(solutionFeed(feed, strength).si.mul(strength.si).equals(feed.si)).toBe(true);
      expect(doseOf(feed, water).si.equals(dose.si)).toBe(true);
      expect(
        solutionFor(contactVolume, dose, strength)
          .si.mul(strength.si)
          .equals(massFor(contactVolume, dose).si),
      ).toBe(true);
    }),
  );
});

test("strokes per minute of a ratio at a flow, times the stroke, feed the ratio's dose into that flow", () => {
  const term = fc.integer({ min: 1, max: 65_535 });
  fc.assert(
    fc.property(duty, term, term, decimal, (given, strokes, contacts, gpm) => {
      const water = quantity("flow", gpm, "gal/min");
      const output = pumpOutput(
        given.strokeVolume,
        strokesPerMinute({ strokes, contacts }, water, given.contactVolume),
      );
      const dose = doseOf(fromSi("massFeed", output.si.mul(given.strength.si)), water);
      expect(dose.si.equals(doseOfRatio({ strokes, contacts }, given).si)).toBe(true);
    }),
  );
});

test("a zero stroke, flow or strength divides by zero, and throws", () => {
  const none = fromSi("volume", exact(0));
  const sound = {
    contactVolume: quantity("volume", 1, "gal"),
    dose: quantity("dose", 1, "mg/L"),
    strength: quantity("strength", 1, "g/L"),
  };
  expect(() => strokesPerContact({ ...sound, strokeVolume: none })).toThrow();
  expect(() => doseOf(quantity("massFeed", 1, "g/day"), fromSi("flow", exact(0)))).toThrow();
  expect(() => solutionFeed(quantity("massFeed", 1, "g/day"), fromSi("strength", exact(0)))).toThrow();
});

test("dose, demand and residual: any two give the third, and no residual is below zero", () => {
  fc.assert(
    fc.property(decimal, decimal, (a, b) => {
      const [demand, residual] = [quantity("dose", a, "mg/L"), quantity("dose", b, "mg/L")];
      const dose = doseFor(demand, residual);
      expect(residualOf(dose, demand).si.equals(residual.si)).toBe(true);
      expect(demandOf(dose, residual).si.equals(demand.si)).toBe(true);
      expect(residualOf(demand, dose).si.equals(0)).toBe(true);
    }),
  );
});

test("3 gal/day at 120 strokes a minute is the stroke that, made 120 times a minute, gives 3 gal/day back", () => {
  const stroke = ratedStrokeVolume(quantity("flow", 3, "gal/day"), exact(120));
  expect(exactIn(pumpOutput(stroke, exact(120)), "gal/day").toString()).toBe("3");
  expect(exactIn(stroke, "mL").round(5).toString()).toBe("0.06572");
});

test("a drawdown of 34 mL in 100 strokes is 0.34 mL a stroke", () => {
  expect(exactIn(drawdownStrokeVolume(quantity("volume", 34, "mL"), 100), "mL").toString()).toBe("0.34");
});

test("a wanted 24 of at most 60 is a setting of 40 % (Water Treatment Mathematics, Vol. 1, 2009, formula)", () => {
  expect(settingPercent(quantity("flow", 24, "gal/day"), quantity("flow", 60, "gal/day")).toString()).toBe(
    "40",
  );
});

const volume = quantity("volume", "0.34", "mL");
const SOURCES: readonly (readonly [StrokeSource, number, boolean])[] = [
  [{ from: "measured", volume }, 60, false],
  [{ from: "measured", volume }, 100, false],
  [{ from: "stated", volume }, 100, false],
  [{ from: "stated", volume }, 60, true],
  [{ from: "rated output", rate: quantity("flow", 3, "gal/day"), capPerMinute: exact(120) }, 60, true],
];
test.each(SOURCES)(
  "a stroke volume that is %o at %s % of full stroke is warned of: %s",
  (source, setting, warned) => {
    expect(strokeSettingWarning(source, setting) !== undefined).toBe(warned);
  },
);
