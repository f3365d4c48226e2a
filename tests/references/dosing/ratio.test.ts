/**
 * The ratio search against published best rational approximations.
 *
 * Source: fractions, Rational numbers, Python Software Foundation, The Python Standard Library,
 * `Fraction.limit_denominator`, documentation and doctests (https://docs.python.org/3/library/fractions.html).
 * Pi to 100 is a semiconvergent: a search of convergents alone answers 22/7.
 */
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { nearestRatio } from "../../../lib/dosing/ratio.js";

const PI = "3.141592653589793";

test.each([
  ["pi, denominators to 10", PI, 10, "22:7"],
  ["pi, denominators to 100", PI, 100, "311:99"],
  ["pi, denominators to 1000", "3.1415926535897932", 1_000, "355:113"],
  ["cos(pi/3) as a double", Math.cos(Math.PI / 3), 65_535, "1:2"],
  ["1.1 as a double", 1.1, 1_000, "11:10"],
  ["4321/8765, denominators to 10000", "4321/8765", 10_000, "4321:8765"],
])("limit_denominator: %s", (_, value, contacts, expected) => {
  const { strokes, contacts: found } = nearestRatio(new Fraction(value), { strokes: 65_535, contacts });
  expect(`${strokes}:${found}`).toBe(expected);
});
