/**
 * Is a CT table never read too easily, and is what lies outside it refused?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  ctAchieved,
  giardiaCt,
  logInactivation,
  parseBaffling,
  t10,
  virusCt,
} from "../../lib/dosing/contact-time.js";
import { exactIn, numberIn, quantity } from "../../lib/dosing/quantity.js";

const conditions = (celsius: number, pH: number, chlorine: number) => ({
  temperature: quantity("temperature", celsius, "degC"),
  pH,
  residual: quantity("dose", chlorine, "mg/L"),
});
const giardia = (celsius: number, pH: number, chlorine: number): number => {
  const read = giardiaCt(3, conditions(celsius, pH, chlorine));
  return read.ok ? numberIn(read.value.required, "mg min/L") : NaN;
};
const viruses = (celsius: number, pH: number): number => {
  const read = virusCt(4, conditions(celsius, pH, 1));
  return read.ok ? numberIn(read.value.required, "mg min/L") : NaN;
};

const tenths = (from: number, to: number) => fc.integer({ min: from * 10, max: to * 10 }).map((n) => n / 10);

test("colder water, a higher pH or more chlorine never makes the CT that is asked for smaller", () => {
  fc.assert(
    fc.property(
      tenths(0, 40),
      tenths(5, 8.9),
      tenths(0.1, 5),
      tenths(0.1, 10),
      (celsius, pH, chlorine, step) => {
        const asked = giardia(celsius, pH, chlorine);
        expect(giardia(celsius - step, pH, chlorine)).toBeGreaterThanOrEqual(asked);
        expect(giardia(celsius, Math.min(9, pH + step), chlorine)).toBeGreaterThanOrEqual(asked);
        expect(giardia(celsius, pH, chlorine + step)).toBeGreaterThanOrEqual(asked);
        expect(viruses(celsius - step, 7)).toBeGreaterThanOrEqual(viruses(celsius, 7));
      },
    ),
  );
});

test.each([
  [-2, 12],
  [0.5, 12],
  [4.9, 12],
  [5, 8],
  [9.99, 8],
  [24.99, 3],
  [25, 2],
  [40, 2],
])(
  "4-log viruses at %s °C read %s: temperature goes down to a table, and below 0.5 °C to the first",
  (celsius, ct) => {
    expect(viruses(celsius, 7)).toBe(ct);
  },
);

test.each([
  [5.9, NaN],
  [6, 6],
  [9, 6],
  [9.1, 45],
  [10, 45],
  [10.1, NaN],
  [NaN, NaN],
])(
  "4-log viruses at pH %s and 10 °C read %s: pH goes up to a column, and outside there is none",
  (pH, ct) => {
    expect(viruses(10, pH)).toBe(ct);
  },
);

test.each([
  [5, 148],
  [6, 148],
  [6.1, 176],
  [9, 437],
  [9.1, NaN],
  [NaN, NaN],
  [0, NaN],
])("Giardia at pH %s, 0.5 °C and 1 mg/L reads %s", (pH, ct) => {
  expect(giardia(0.5, pH, 1)).toBe(ct);
});

test("a table that cannot be read says so and where it can", () => {
  const read = virusCt(4, conditions(10, 11, 1));
  expect(read).toEqual({
    ok: false,
    fault: "pH 11 is outside the virus table",
    mend: "the table reads from pH 6 to 10",
  });
});

test("120 gal, poorly baffled, at 15 gal/min hold the water for 2.4 min; at 0.5 mg/L that is CT 1.2 and 0.6-log of 8", () => {
  const time = t10(quantity("volume", 120, "gal"), quantity("flow", 15, "gpm"), 0.3);
  const ct = ctAchieved(quantity("dose", "0.5", "mg/L"), time);
  expect([exactIn(time, "min").toString(), exactIn(ct, "mg min/L").toString()]).toEqual(["2.4", "1.2"]);
  expect(logInactivation(ct, quantity("exposure", 8, "mg min/L"), 4)).toBe(0.6);
});

test.each([
  ["poor", 0.3],
  [" Superior ", 0.7],
  ["pipe", 1],
  ["0.55", 0.55],
  ["1", 1],
  ["0", undefined],
  ["1.1", undefined],
  ["", undefined],
  ["good", undefined],
  ["toString", undefined],
])("baffling %o is %s", (text, factor) => {
  const read = parseBaffling(text);
  expect(read.ok ? read.value : undefined).toBe(factor);
});
