/**
 * What can be said of a plan, by what name, and within what bounds? One list for options and plan files. Harness layer.
 *
 * Bounds are wide: any small water system is well inside, and a slip of a million is well outside. Where a published
 * limit applies, the plan itself warns; here only nonsense is refused.
 */
import { type Kind, parseQuantity, type Quantity, quantity } from "../../lib/dosing/index.js";

/** One quantity with a unit. */
export interface QuantityTerm {
  readonly name: string;
  readonly kind: Exclude<Kind, "strength">;
  readonly about: string;
  readonly example: string;
  /** Least and most, as texts with units. */
  readonly from: string;
  readonly to: string;
  /** Zero is allowed as well. */
  readonly zero?: true;
}

export const QUANTITIES = [
  {
    name: "contact-volume",
    kind: "volume",
    about: "water per contact of the meter",
    example: "10 gal",
    from: "1 mL",
    to: "100 m3",
  },
  {
    name: "dose",
    kind: "dose",
    about: "wanted dose, as Cl2",
    example: "1.2 mg/L",
    from: "0.001 mg/L",
    to: "1000 mg/L",
  },
  {
    name: "demand",
    kind: "dose",
    about: "chlorine demand of the water, 0 or more",
    example: "0.7 mg/L",
    from: "0.0001 mg/L",
    to: "1000 mg/L",
    zero: true,
  },
  {
    name: "residual",
    kind: "dose",
    about: "wanted free residual",
    example: "0.5 mg/L",
    from: "0.001 mg/L",
    to: "1000 mg/L",
  },
  {
    name: "stroke-volume",
    kind: "volume",
    about: "solution per stroke",
    example: "0.34 mL",
    from: "0.1 uL",
    to: "10 L",
  },
  {
    name: "pump-rate",
    kind: "flow",
    about: "the pump's output at the cap, at full stroke",
    example: "3 gal/day",
    from: "0.01 mL/min",
    to: "100 L/min",
  },
  {
    name: "peak",
    kind: "flow",
    about: "highest flow of water",
    example: "15 gal/min",
    from: "1 mL/min",
    to: "10 m3/min",
  },
  {
    name: "typical",
    kind: "flow",
    about: "usual flow of water",
    example: "6 gal/min",
    from: "1 mL/min",
    to: "10 m3/min",
  },
  {
    name: "low",
    kind: "flow",
    about: "lowest flow of water that must be dosed",
    example: "1 gal/min",
    from: "0.1 mL/min",
    to: "10 m3/min",
  },
  {
    name: "tank",
    kind: "volume",
    about: "usable volume of the solution tank",
    example: "30 gal",
    from: "10 mL",
    to: "100 m3",
  },
  {
    name: "temperature",
    kind: "temperature",
    about: "of the water",
    example: "5 °C",
    from: "0 °C",
    to: "60 °C",
  },
  {
    name: "contact-tank",
    kind: "volume",
    about: "volume between injection and first tap",
    example: "120 gal",
    from: "10 mL",
    to: "10000 m3",
  },
  {
    name: "mixing-volume",
    kind: "volume",
    about: "water that mixes after the injection point (the contact tank)",
    example: "5 gal",
    from: "1 mL",
    to: "10000 m3",
  },
  {
    name: "age",
    kind: "duration",
    about: "how long the solution has stood",
    example: "14 days",
    from: "1 min",
    to: "1000 days",
  },
  {
    name: "storage-temperature",
    kind: "temperature",
    about: "where the solution stands (25 °C)",
    example: "77 °F",
    from: "-20 °C",
    to: "60 °C",
  },
  {
    name: "grace",
    kind: "duration",
    about: "still-water grace of the pacer (90 s)",
    example: "90 s",
    from: "1 ms",
    to: "1 day",
  },
] as const satisfies readonly QuantityTerm[];

export type QuantityName = (typeof QUANTITIES)[number]["name"];

/** Terms that are not one quantity with a unit. */
export const OTHERS = [
  {
    name: "strength",
    value: "strength",
    about: "of the solution: percent weight by volume, or with a basis",
    example: "5.25 %",
  },
  {
    name: "specific-gravity",
    value: "number",
    about: "of the solution, for percent by weight",
    example: "1.08",
  },
  { name: "stock", value: "strength", about: "a stronger stock to mix the solution from", example: "12.5 %" },
  { name: "cap", value: "number", about: "rate cap, strokes per minute", example: "120" },
  {
    name: "stroke-setting",
    value: "percent",
    about: "manual stroke setting of the pump, percent of full (100)",
    example: "100 %",
  },
  { name: "ph", value: "number", about: "of the water", example: "7.5" },
  {
    name: "baffling",
    value: "class",
    about: "unbaffled, poor, average, superior, pipe, or a factor (unbaffled)",
    example: "poor",
  },
  { name: "cadence", value: "cadence", about: "spread or prompt (spread)", example: "spread" },
  { name: "tolerance", value: "percent", about: "largest dose error of a ratio (2 %)", example: "2 %" },
  {
    name: "largest",
    value: "number",
    about: "largest number in a ratio, 1 to 65535 (100, more if needed)",
    example: "100",
  },
] as const;

export type OtherName = (typeof OTHERS)[number]["name"];
export type TermName = QuantityName | OtherName;

/** What is wrong with one term, without its name. */
export interface Refused {
  readonly fault: string;
  readonly mend: string;
}

/** Reads one quantity; within its bounds. */
export function readQuantity<K extends Exclude<Kind, "strength">>(
  term: QuantityTerm & { readonly kind: K },
  text: string,
): Quantity<K> | Refused {
  const parsed = parseQuantity(term.kind, text, term.zero === true ? "zero" : "above zero");
  if (!parsed.ok) return { fault: parsed.fault, mend: `${parsed.mend}, for example "${term.example}"` };
  const { value } = parsed;
  if (term.zero === true && value.si.equals(0)) return value;
  const least = bound(term.kind, term.from);
  const most = bound(term.kind, term.to);
  if (value.si.gte(least.si) && value.si.lte(most.si)) return value;
  const fault = `"${text.trim()}" is too ${value.si.lt(least.si) ? "small" : "large"} to be meant`;
  return { fault, mend: `write ${term.from} to ${term.to}, and check number and unit` };
}

export function isRefused(read: object): read is Refused {
  return "fault" in read;
}

function bound<K extends Exclude<Kind, "strength">>(kind: K, text: string): Quantity<K> {
  const parsed = parseQuantity(kind, text, "zero");
  return parsed.ok ? parsed.value : quantity(kind, 0, text);
}
