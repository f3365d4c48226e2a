/**
 * Do quantities survive being written, converted and shown, and is what cannot be meant refused with its mend?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { exactIn, type Kind, numberIn, parseQuantity, quantity, show } from "../../lib/dosing/quantity.js";
import { shown } from "../../lib/dosing/show.js";
import { exact } from "../../lib/dosing/units.js";

const UNITS: { readonly [K in Kind]: readonly string[] } = {
  volume: ["mL", "L", "m3", "gal", "floz", "ft3", "uL", "qt"],
  flow: ["gal/min", "gal/day", "gpm", "gpd", "gph", "MGD", "L/min", "L/h", "m3/h", "mL/min", "L/s"],
  dose: ["mg/L", "ppm", "g/m^3", "ug/L"],
  strength: ["g/L", "mg/L", "lb/gal", "kg/m^3"],
  mass: ["mg", "g", "kg", "lb", "oz"],
  massFeed: ["lb/day", "kg/day", "g/h", "mg/s"],
  duration: ["s", "min", "h", "day", "week", "ms"],
  temperature: ["degC", "degF", "K"],
  exposure: ["mg min/L", "kg s/m^3"],
};
const KINDS_ALL = Object.keys(UNITS) as Kind[];

const amount = fc
  .tuple(fc.integer({ min: 1, max: 999_999 }), fc.integer({ min: -6, max: 6 }))
  .map(([digits, power]) => `${digits}e${power}`);
const kindAndUnits = fc
  .constantFrom(...KINDS_ALL)
  .chain((kind) =>
    fc.tuple(fc.constant(kind), fc.constantFrom(...UNITS[kind]), fc.constantFrom(...UNITS[kind])),
  );

test("a quantity written in any unit and read back in it is the same number, to the last digit", () => {
  fc.assert(
    fc.property(kindAndUnits, amount, ([kind, unit], text) => {
      const parsed = parseQuantity(kind, `${text} ${unit}`);
      expect(parsed.ok && exactIn(parsed.value, unit).toFraction()).toBe(exact(text).toFraction());
    }),
  );
});

test("a quantity carried through any other unit of its kind comes back unchanged", () => {
  fc.assert(
    fc.property(kindAndUnits, amount, ([kind, unit, other], text) => {
      const there = exactIn(quantity(kind, text, unit), other);
      expect(exactIn(quantity(kind, there, other), unit).toFraction()).toBe(exact(text).toFraction());
    }),
  );
});

test("what is shown reads back within the digits that are shown", () => {
  fc.assert(
    fc.property(kindAndUnits, fc.integer({ min: 1, max: 99_999 }), ([kind, unit], digits) => {
      const original = quantity(kind, exact(digits).div(100), unit);
      const back = parseQuantity(kind, show(original, unit, 6));
      expect(back.ok && numberIn(back.value, unit) / numberIn(original, unit)).toBeCloseTo(1, 5);
    }),
  );
});

// NIST Special Publication 811, 2008, Appendix B: exact by definition.
test.each([
  ["volume", "1 gal", "mL", "3785.411784"],
  ["volume", "1 fl oz", "mL", "29.5735295625"],
  ["volume", "1 ft3", "L", "28.316846592"],
  ["mass", "1 lb", "g", "453.59237"],
  ["temperature", "41 °F", "degC", "5"],
  ["temperature", "-40 °C", "degF", "-40"],
  ["flow", "1 gal/min", "gal/day", "1440"],
] as const)("%s: %s is exactly %s %s", (kind, text, unit, exactly) => {
  const parsed = parseQuantity(kind, text);
  expect(parsed.ok && exactIn(parsed.value, unit).toString()).toBe(Number(exactly).toString());
});

test.each([
  ["10 gal", "volume", "10gal"],
  ["1.2 mg/L", "dose", "1.2 ppm"],
  ["0.34 mL", "volume", "340 µL"],
  ["15 gal/min", "flow", "15 gpm"],
  ["15 gal/min", "flow", "15 gallons per minute"],
  ["2 m3/h", "flow", "2 m³/h"],
  ["5 °C", "temperature", "5 C"],
  ["41 °F", "temperature", "41 degF"],
  ["10 gal", "volume", "10 US gal"],
  ["34 mL", "volume", "3.4e1 ml"],
] as const)("%s may also be written %s as %s", (text, kind, other) => {
  const [a, b] = [parseQuantity(kind, text), parseQuantity(kind, other)];
  expect([a.ok && a.value.si.toFraction(), b.ok]).toEqual([b.ok && b.value.si.toFraction(), true]);
});

test.each([
  ["volume", "", "is empty"],
  ["volume", "   ", "is empty"],
  ["volume", "10", '"10" has no unit'],
  ["volume", "gal", '"gal" does not start with a number'],
  ["volume", "ten gal", '"ten gal" does not start with a number'],
  ["volume", "NaN gal", '"NaN gal" does not start with a number'],
  ["volume", "Infinity gal", '"Infinity gal" does not start with a number'],
  ["volume", "0 gal", '"0 gal" is zero'],
  ["volume", "-10 gal", '"-10 gal" is below zero'],
  ["volume", "10 mg/L", '"mg/L" is not a unit of volume'],
  ["volume", "10 gallonz", '"gallonz" is not a unit of volume'],
  ["volume", "10 imp gal", '"imp gal" is not a unit of volume'],
  ["volume", "1,500 gal", '"1,500 gal" has a comma'],
  ["volume", "1.2.3 gal", '".3 gal" is not a unit'],
  ["volume", "10 gal; rm", '"gal; rm" is not a unit'],
  ["flow", "15 gal", '"gal" is not a unit of flow'],
  ["dose", "1.2 %", '"%" is not a unit'],
  ["temperature", "-300 °C", '"-300 °C" is below absolute zero'],
  ["volume", "1e31 gal", '"1e31 gal" is not a number that anyone measures'],
  ["temperature", "-5e-324 °C", '"-5e-324 °C" is not a number that anyone measures'],
  ["volume", `0.${"1".repeat(20)} gal`, `"0.${"1".repeat(20)} gal" is not a number that anyone measures`],
  ["volume", "1".repeat(80), `"${"1".repeat(60)}" does not start with a number`],
] as const)("%s %o is refused: %s", (kind, text, fault) => {
  const parsed = parseQuantity(kind, text);
  expect(parsed.ok ? "read" : parsed.fault).toBe(fault);
  expect(parsed.ok || parsed.mend.length > 10).toBe(true);
});

test("any text at all is read or refused, and never throws", () => {
  const texts = fc.oneof(
    fc.string(),
    fc.tuple(amount, fc.string()).map(([number, rest]) => `${number} ${rest}`),
  );
  fc.assert(
    fc.property(fc.constantFrom(...KINDS_ALL), texts, (kind, text) => {
      expect(typeof parseQuantity(kind, text).ok).toBe("boolean");
    }),
    { numRuns: 1_000 },
  );
});

test("a dose and a strength are the same unit and not the same type", () => {
  const dose = quantity("dose", 1, "mg/L");
  // @ts-expect-error A dose is not a strength.
  const strength: ReturnType<typeof quantity<"strength">> = dose;
  expect(strength.kind).toBe("dose");
});

test("people see metric and US customary at once, in units of a fitting size", () => {
  const texts = [
    shown(quantity("volume", 10, "gal")),
    shown(quantity("volume", "0.34", "mL")),
    shown(quantity("flow", 15, "gpm")),
    shown(quantity("flow", 3, "gal/day")),
    shown(quantity("dose", "1.2", "mg/L")),
    shown(quantity("temperature", 41, "degF")),
    shown(quantity("duration", 36, "h")),
  ];
  expect(texts).toEqual([
    "37.85 L (10 gal)",
    "0.34 mL (0.0115 fl oz)",
    "56.78 L/min (15 gal/min)",
    "7.886 mL/min (3 gal/day)",
    "1.2 mg/L",
    "5 °C (41 °F)",
    "36 h",
  ]);
});
