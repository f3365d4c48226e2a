/**
 * How large is a unit, exactly? The units library, set to exact fractions. Dosing layer.
 *
 * A gallon is the US gallon, 231 cubic inches = 3.785411784 L; a fluid ounce is 1/128 of it; a pound is 453.59237 g.
 * Source: NIST Special Publication 811, Guide for the Use of the International System of Units, NIST, 2008, Appendix B.
 * The library was chosen because its definitions are these exact decimals and its number type can be replaced.
 */
import Fraction from "fraction.js";
import unitmath from "unitmath/es/UnitMath.js";

/** A decimal ("1.2", "5e-3"), a whole number or a fraction ("16/7") as an exact fraction; throws on anything else. */
export function exact(value: unknown): Fraction {
  if (value instanceof Fraction) return value;
  const [digits = "", power = "0"] = String(value).toLowerCase().split("e");
  const scale = 10n ** BigInt(Math.abs(Number(power)));
  return Number(power) < 0 ? new Fraction(digits).div(scale) : new Fraction(digits).mul(scale);
}

const unit = unitmath.config<Fraction>({
  type: {
    clone: exact,
    conv: exact,
    add: (a, b) => exact(a).add(exact(b)),
    sub: (a, b) => exact(a).sub(exact(b)),
    mul: (a, b) => exact(a).mul(exact(b)),
    div: (a, b) => exact(a).div(exact(b)),
    pow: (a, b) => exact(a).pow(exact(b)),
    eq: (a, b) => exact(a).equals(exact(b)),
    lt: (a, b) => exact(a).lt(exact(b)),
    le: (a, b) => exact(a).lte(exact(b)),
    gt: (a, b) => exact(a).gt(exact(b)),
    ge: (a, b) => exact(a).gte(exact(b)),
    abs: (a) => exact(a).abs(),
    round: (a) => exact(a).round(),
    trunc: (a) => (exact(a).lt(0) ? exact(a).ceil() : exact(a).floor()),
  },
  definitions: {
    units: {
      gpm: "1 gal/min",
      gph: "1 gal/hr",
      gpd: "1 gal/day",
      MGD: "1000000 gal/day",
      m3: "1 m^3",
      ft3: "1 ft^3",
      d: "1 day",
      // ppm by mass in water of 1 kg/L, as the trade uses it.
      ppm: "1 mg/L",
      degC: { quantity: "TEMPERATURE", value: exact(1), offset: exact("273.15") },
      degF: { quantity: "TEMPERATURE", value: exact("5/9"), offset: exact("459.67") },
    },
  },
});

/**
 * Converts between units, exactly.
 * @throws Error when a unit is not known, or the two do not measure the same thing.
 */
export function convert(value: Fraction, from: string, to: string): Fraction {
  return unit(value, spelled(from)).to(spelled(to)).getValue();
}

// People write units in more ways than the library reads.
const SPELLINGS: readonly (readonly [RegExp, string])[] = [
  [/[µμ]/g, "u"],
  [/³/g, "^3"],
  [/^(?:°|deg)?\s?C(?:elsius)?$/i, "degC"],
  [/^(?:°|deg)?\s?F(?:ahrenheit)?$/i, "degF"],
  [/\bU\.?S\.?\s+/g, ""],
  [/\bfl\.?\s?oz\.?/g, "floz"],
  [/\s+per\s+/g, "/"],
  [/\bmgd\b/g, "MGD"],
  [/\bml\b/g, "mL"],
];

function spelled(text: string): string {
  return SPELLINGS.reduce((unit, [pattern, plain]) => unit.replace(pattern, plain), text.trim());
}
