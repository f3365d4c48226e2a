/**
 * What is this number of, and how much is it? Branded quantities, parsed from text and shown as text. Dosing layer.
 *
 * Inside, every quantity is an exact fraction of coherent SI units, so that a ratio computed from decimals is exact.
 * Kinds with the same unit cannot be mixed up: a dose (in the water) is not a strength (in the tank).
 */
import type Fraction from "fraction.js";
import { convert, exact } from "./units.js";

declare const brand: unique symbol;

/** An amount of one kind; `si` is exact, in the SI unit of {@link KINDS}. Made only by {@link quantity} and parsing. */
export interface Quantity<K extends Kind> {
  readonly kind: K;
  readonly si: Fraction;
  readonly [brand]: K;
}

interface KindFacts {
  /** The SI unit that `si` counts. */
  readonly si: string;
  /** What a person would call it, and units that may be written. */
  readonly name: string;
  readonly units: readonly string[];
}

/** Every kind of quantity: its SI unit, its name, and examples of units that are read. */
export const KINDS = {
  volume: { si: "m^3", name: "a volume", units: ["mL", "L", "m3", "gal", "floz", "ft3"] },
  flow: { si: "m^3/s", name: "a flow", units: ["gal/min", "gal/day", "L/min", "L/h", "m3/h", "mL/min"] },
  dose: { si: "kg/m^3", name: "a dose or residual", units: ["mg/L", "ppm"] },
  strength: { si: "kg/m^3", name: "a strength", units: ["%", "% w/w", "g/L", "mg/L", "lb/gal"] },
  mass: { si: "kg", name: "a mass", units: ["mg", "g", "kg", "lb"] },
  massFeed: { si: "kg/s", name: "a mass feed", units: ["lb/day", "kg/day", "g/h"] },
  duration: { si: "s", name: "a time", units: ["s", "min", "h", "days", "weeks"] },
  temperature: { si: "K", name: "a temperature", units: ["°C", "°F", "K"] },
  exposure: { si: "kg s/m^3", name: "a CT", units: ["mg min/L"] },
} as const satisfies { readonly [name: string]: KindFacts };

export type Kind = keyof typeof KINDS;

/** Of water or of solution, m³. */
export type Volume = Quantity<"volume">;
/** Of water or of solution, m³/s. */
export type Flow = Quantity<"flow">;
/** Of disinfectant in the treated water, as Cl2, kg/m³: a dose, a demand or a residual. */
export type Dose = Quantity<"dose">;
/** Of disinfectant in the solution, available chlorine as Cl2, kg/m³ (the same number as g/L). */
export type Strength = Quantity<"strength">;
/** Of disinfectant or of product, kg. */
export type Mass = Quantity<"mass">;
/** Of disinfectant, kg/s. */
export type MassFeed = Quantity<"massFeed">;
/** Seconds. */
export type Duration = Quantity<"duration">;
/** Kelvin. */
export type Temperature = Quantity<"temperature">;
/** CT: concentration times time, kg·s/m³; people write mg·min/L. */
export type Exposure = Quantity<"exposure">;

/** Something said that cannot be used: what is wrong, and what to write instead. */
export interface Fault {
  readonly fault: string;
  readonly mend: string;
}

/** A value, or why there is none. A fact about what was written is never thrown. */
export type Parsed<T> = { readonly ok: true; readonly value: T } | ({ readonly ok: false } & Fault);

/** A quantity from a number and a unit; for callers that know both are sound. Throws on an unknown or wrong unit. */
export function quantity<K extends Kind>(
  kind: K,
  amount: number | string | Fraction,
  unit: string,
): Quantity<K> {
  return fromSi(kind, convert(exact(amount), unit, KINDS[kind].si));
}

/** A quantity from its exact amount of SI units. */
export function fromSi<K extends Kind>(kind: K, si: Fraction): Quantity<K> {
  return Object.freeze({ kind, si }) as Quantity<K>;
}

/** Exactly how many `unit` it is. Throws on an unknown or wrong unit. */
export function exactIn(q: Quantity<Kind>, unit: string): Fraction {
  return convert(q.si, KINDS[q.kind].si, unit);
}

/** How many `unit` it is, to the nearest double. Throws on an unknown or wrong unit. */
export function numberIn(q: Quantity<Kind>, unit: string): number {
  return exactIn(q, unit).valueOf();
}

/** A number and what follows it, not yet understood. */
export interface Written {
  readonly amount: Fraction;
  readonly unit: string;
}

const ANY_QUANTITY = "write a number and its unit";
const LONGEST_TEXT = 60;
/** Kept small so that products of several exact quantities still fit a double when they are shown. */
const MOST_DIGITS = 20;
const MOST_POWER = 30;
// One number in plain or scientific notation, then the rest. No commas: 1,500 is 1.5 to some and 1500 to others.
const WRITTEN = /^([+-]?\d*(?:\.\d+)?(?:e[+-]?\d{1,3})?)\s*(.*)$/i;

/** Splits "1.2 mg/L" into an exact number and the text after it. */
export function splitWritten(text: string): Parsed<Written> {
  const trimmed = text.trim();
  const match = trimmed.length > LONGEST_TEXT ? null : WRITTEN.exec(trimmed);
  const digits = match?.[1] ?? "";
  if (match === null || !/\d/.test(digits.split(/e/i)[0] ?? "")) {
    const shown =
      trimmed === "" ? "is empty" : `"${trimmed.slice(0, LONGEST_TEXT)}" does not start with a number`;
    return { ok: false, fault: shown, mend: ANY_QUANTITY };
  }
  const [mantissa = "", power = "0"] = digits.toLowerCase().split("e");
  if (mantissa.length > MOST_DIGITS || Math.abs(Number(power)) > MOST_POWER) {
    const fault = `"${trimmed}" is not a number that anyone measures`;
    return { ok: false, fault, mend: `write at most ${MOST_DIGITS} digits and no huge power of ten` };
  }
  return { ok: true, value: { amount: exact(digits.replace(/^\+/, "")), unit: (match[2] ?? "").trim() } };
}

/**
 * Reads a quantity from text such as "10 gal", "1.2 mg/L", "15 gal/min", "41 °F".
 *
 * The unit must be there and measure the right thing; all but temperatures must be above zero (0 is allowed where
 * `least` is "zero"). Strengths in percent have a reader of their own in solution.ts, because percent has a basis.
 */
export function parseQuantity<K extends Kind>(
  kind: K,
  text: string,
  least: "above zero" | "zero" = "above zero",
): Parsed<Quantity<K>> {
  const example = `write ${KINDS[kind].name} with its unit, one of ${KINDS[kind].units.join(", ")}`;
  const written = splitWritten(text);
  if (!written.ok) return { ...written, mend: written.mend.replace(ANY_QUANTITY, example) };
  const { amount, unit } = written.value;
  if (unit === "") return { ok: false, fault: `"${text.trim()}" has no unit`, mend: example };
  if (unit.startsWith(",")) {
    return {
      ok: false,
      fault: `"${text.trim()}" has a comma`,
      mend: "write a decimal point, and no thousands separators",
    };
  }
  if (/[^a-z°µμ³^*/.\s\d]|(?<!\^|m|ft)\d/i.test(unit)) {
    return { ok: false, fault: `"${unit}" is not a unit`, mend: example };
  }
  let si: Fraction;
  try {
    si = convert(amount, unit, KINDS[kind].si);
  } catch {
    return {
      ok: false,
      fault: `"${unit}" is not a unit of ${KINDS[kind].name.replace(/^an? /, "")}`,
      mend: example,
    };
  }
  if (kind !== "temperature" && (amount.lt(0) || (least === "above zero" && amount.equals(0)))) {
    const fault = `"${text.trim()}" is ${amount.equals(0) ? "zero" : "below zero"}`;
    return {
      ok: false,
      fault,
      mend: `write ${KINDS[kind].name} ${least === "zero" ? "of zero or more" : "above zero"}`,
    };
  }
  if (kind === "temperature" && si.lt(0)) {
    return { ok: false, fault: `"${text.trim()}" is below absolute zero`, mend: example };
  }
  return { ok: true, value: fromSi(kind, si) };
}

/** A quantity as text in one unit, to at most `digits` significant digits: "0.34 mL". */
export function show(q: Quantity<Kind>, unit: string, digits = 4): string {
  return `${showNumber(numberIn(q, unit), digits)} ${unit}`;
}

/** A number for people, to at most `digits` significant digits, no exponent between 1e-6 and 1e15. */
export function showNumber(value: number, digits = 4): string {
  return String(Number(value.toPrecision(digits)));
}
