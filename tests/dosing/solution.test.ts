/**
 * Is a strength read on the basis it was written in, and do dilution, ageing and tank life hang together?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { ageUntil, strengthAfter, USUAL_DECAY } from "../../lib/dosing/decay.js";
import { exactIn, fromSi, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { dilute, parseStrength, strengthOfMix, tankLife } from "../../lib/dosing/solution.js";
import { exact } from "../../lib/dosing/units.js";

test.each([
  ["5.25 %", undefined, "52.5"],
  ["5.25%", undefined, "52.5"],
  ["5.25 % w/v", undefined, "52.5"],
  ["12.5 % trade", undefined, "125"],
  ["trade % 5", undefined, undefined],
  ["5 % w/w", "1.08", "54"],
  ["5 % by weight", "1.08", "54"],
  ["5 wt%", "1.08", undefined],
  ["52.5 g/L", undefined, "52.5"],
  ["52500 mg/L", undefined, "52.5"],
  ["52.5 g/L", "1.08", "52.5"],
] as const)("strength %s with specific gravity %s is %s g/L", (text, gravity, gramsPerLitre) => {
  const parsed = parseStrength(text, gravity === undefined ? undefined : exact(gravity));
  expect(parsed.ok ? exactIn(parsed.value, "g/L").toString() : undefined).toBe(gramsPerLitre);
});

test.each([
  ["5 % w/w", '"5 % w/w" is by weight, and a dose needs weight by volume'],
  ["0 %", '"0 %" is zero'],
  ["-5 %", '"-5 %" is below zero'],
  ["5", '"5" has no unit'],
  ["5 gal", '"gal" is not a unit of strength'],
  ["525 %", '"525 %" is stronger than any hypochlorite solution (250 g/L)'],
  ["5250000 %", '"5250000 %" is stronger than any hypochlorite solution (250 g/L)'],
  ["300 g/L", '"300 g/L" is stronger than any hypochlorite solution (250 g/L)'],
  ["", "is empty"],
])("strength %o is refused: %s", (text, fault) => {
  const parsed = parseStrength(text);
  expect(parsed.ok ? "read" : parsed.fault).toBe(fault);
});

const gramsPerLitre = fc.integer({ min: 1, max: 250 });
const litres = fc.integer({ min: 1, max: 10_000 });

test("a dilution has the wanted strength and the wanted total, exactly; a weaker stock gives none", () => {
  fc.assert(
    fc.property(gramsPerLitre, gramsPerLitre, litres, (a, b, total) => {
      const [stock, wanted] = [quantity("strength", a, "g/L"), quantity("strength", b, "g/L")];
      const mix = dilute(stock, wanted, quantity("volume", total, "L"));
      expect(mix === undefined).toBe(a < b);
      if (mix === undefined) return;
      expect(mix.stock.si.add(mix.water.si).equals(quantity("volume", total, "L").si)).toBe(true);
      expect(strengthOfMix(stock, mix).si.equals(wanted.si)).toBe(true);
      expect(mix.partsWater.equals(mix.water.si.div(mix.stock.si))).toBe(true);
    }),
  );
});

test("strength only falls with age, faster when warm, and passes a share of fresh at the age that is told", () => {
  const days = fc.integer({ min: 1, max: 700 });
  const celsius = fc.integer({ min: -10, max: 45 });
  const share = fc.integer({ min: 1, max: 99 }).map((percent) => percent / 100);
  fc.assert(
    fc.property(gramsPerLitre, days, celsius, share, (strength, age, at, left) => {
      const fresh = quantity("strength", strength, "g/L");
      const storage = quantity("temperature", at, "degC");
      const after = (days: number, warmer = 0): number =>
        numberIn(
          strengthAfter(
            fresh,
            quantity("duration", days, "day"),
            quantity("temperature", at + warmer, "degC"),
          ),
          "g/L",
        );
      expect(after(age)).toBeLessThan(strength);
      expect(after(age + 1)).toBeLessThan(after(age));
      expect(after(age, 5)).toBeLessThan(after(age));
      const reached = strengthAfter(fresh, ageUntil(fresh, left, storage), storage);
      expect(numberIn(reached, "g/L") / strength).toBeCloseTo(left, 9);
    }),
  );
});

test("standing for two spells leaves what standing for both at once leaves: the law has no memory but strength", () => {
  const storage = quantity("temperature", 25, "degC");
  const fresh = quantity("strength", 125, "g/L");
  const days = (n: number) => quantity("duration", n, "day");
  const twice = strengthAfter(strengthAfter(fresh, days(10), storage), days(20), storage);
  expect(numberIn(twice, "g/L")).toBeCloseTo(numberIn(strengthAfter(fresh, days(30), storage), "g/L"), 9);
});

test.each([0, 1, -0.1, 1.5, NaN])(
  "a share of %s of fresh strength is a broken promise and throws",
  (share) => {
    expect(() => ageUntil(quantity("strength", 50, "g/L"), share, USUAL_DECAY.at)).toThrow(RangeError);
  },
);

test("a 55 gal tank lasts 3.61 days at 15.22 gal a day (derived from California's example 2)", () => {
  const life = tankLife(quantity("volume", 55, "gal"), quantity("flow", "15.22", "gal/day"));
  expect(exactIn(life, "day").round(2).toString()).toBe("3.61");
});

test("a quantity made of SI units is frozen", () => {
  expect(Object.isFrozen(fromSi("volume", exact(1)))).toBe(true);
});
