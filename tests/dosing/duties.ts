/**
 * Feed duties for the dosing tests: one to build on, and generated ones.
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { strokesPerContact } from "../../lib/dosing/feed.js";
import { fromSi, quantity } from "../../lib/dosing/quantity.js";
import type { FeedDuty } from "../../lib/dosing/types.js";
import { exact } from "../../lib/dosing/units.js";

/** 2 strokes a contact, exactly: 10 L at 1 mg/L is 10 mg, and 0.5 mL of 10 g/L is 5 mg. Two contacts a minute at peak. */
export const PLAIN: FeedDuty = {
  contactVolume: quantity("volume", 10, "L"),
  dose: quantity("dose", 1, "mg/L"),
  strength: quantity("strength", 10, "g/L"),
  strokeVolume: quantity("volume", "0.5", "mL"),
  capPerMinute: new Fraction(120),
  peak: quantity("flow", 20, "L/min"),
  typical: quantity("flow", 8, "L/min"),
  low: quantity("flow", 1, "L/min"),
};

const decimal = (least: number, most: number, places: number) =>
  fc
    .integer({ min: least * 10 ** places, max: most * 10 ** places })
    .map((digits) => new Fraction(digits, 10 ** places));

/** Duties of small systems, with the cap set from what the peak asks for, so that one in five does not keep up. */
export const anyDuty: fc.Arbitrary<FeedDuty> = fc
  .record({
    contactLitres: decimal(0.5, 100, 1),
    doseMgPerL: decimal(0.2, 5, 2),
    strengthGramsPerL: decimal(5, 125, 1),
    strokeMillilitres: decimal(0.1, 2, 2),
    peakLitresPerMin: decimal(1, 200, 1),
    capOverAsked: decimal(0.8, 4, 2),
    lowOverPeak: decimal(0.01, 1, 2),
  })
  .map((made) => {
    const quantities = {
      contactVolume: quantity("volume", made.contactLitres, "L"),
      dose: quantity("dose", made.doseMgPerL, "mg/L"),
      strength: quantity("strength", made.strengthGramsPerL, "g/L"),
      strokeVolume: quantity("volume", made.strokeMillilitres, "mL"),
    };
    const contactsPerMinute = made.peakLitresPerMin.div(made.contactLitres);
    const asked = strokesPerContact(quantities).mul(contactsPerMinute);
    const peak = quantity("flow", made.peakLitresPerMin, "L/min");
    return {
      ...quantities,
      capPerMinute: asked.mul(made.capOverAsked),
      peak,
      low: fromSi("flow", peak.si.mul(made.lowOverPeak)),
    };
  });

/** The same duty with every volume, also those in the flows, times k. */
export function scaled(duty: FeedDuty, k: Fraction | number): FeedDuty {
  const factor = exact(k);
  return {
    ...duty,
    contactVolume: fromSi("volume", duty.contactVolume.si.mul(factor)),
    strokeVolume: fromSi("volume", duty.strokeVolume.si.mul(factor)),
    peak: fromSi("flow", duty.peak.si.mul(factor)),
    typical: duty.typical && fromSi("flow", duty.typical.si.mul(factor)),
    low: duty.low && fromSi("flow", duty.low.si.mul(factor)),
  };
}
