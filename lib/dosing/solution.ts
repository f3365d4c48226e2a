/**
 * How strong is the solution, how is it mixed, and how long does a tank last? Dosing layer.
 *
 * Strength is always available chlorine as Cl2 per volume of solution. A percent must say its basis: by volume
 * ("trade percent": 1 % = 10 g/L) or by weight (1 % = 10 g/L times the specific gravity); as Cl2 or as NaOCl.
 * Sources: G. C. White, Handbook of Chlorination, Van Nostrand Reinhold, 1972 (strength definitions, restated in an
 * industrial profile of sodium hypochlorite); Example Calculations of Chlorine Dosage, California State Water
 * Resources Control Board, 2018 (percent as NaOCl).
 */
import Fraction from "fraction.js";
import {
  type Dose,
  type Duration,
  type Flow,
  fromSi,
  KINDS,
  type Mass,
  type Parsed,
  parseQuantity,
  quantity,
  show,
  splitWritten,
  type Strength,
  type Volume,
} from "./quantity.js";
import { exact } from "./units.js";

/** Available chlorine per NaOCl, by mass: molar masses of Cl2 and NaOCl, g/mol. Handbooks print the inverse as 1.05. */
export const CHLORINE_PER_HYPOCHLORITE = new Fraction("70.906").div("74.442");

/** No hypochlorite solution is stronger than this: 250 g/L as Cl2. Common practice, no source. */
export const STRONGEST_SOLUTION = quantity("strength", 250, "g/L");

const PERCENT = /^(?:trade\s*)?%\s*(w\/v|w\/w|wt|by weight|trade)?\s*(?:as\s+)?(NaOCl|Cl2)?$/i;

/** A strength that was written in percent, and on what basis. */
export interface PercentBasis {
  readonly percent: Fraction;
  /** Of percent by weight; undefined by volume. */
  readonly specificGravity: Fraction | undefined;
  /** True if the percent counts NaOCl, not Cl2. */
  readonly asHypochlorite: boolean;
}

/**
 * Reads a strength: "5.25 %" (weight by volume, trade percent), "5 % w/w" (needs the specific gravity),
 * "0.25 % NaOCl", "52.5 g/L", "1.04 lb/gal". Above zero and no stronger than any hypochlorite solution.
 * @param specificGravity of the solution, 1.0 to 1.5; needed for percent by weight, not used otherwise.
 */
export function parseStrength(text: string, specificGravity?: Fraction): Parsed<Strength> {
  const written = text.trim();
  const basis = parsePercent(written, specificGravity);
  const parsed =
    basis === undefined ? parseQuantity("strength", text) : basis.ok ? strengthOf(basis.value) : basis;
  if (!parsed.ok) return parsed;
  if (parsed.value.si.gt(STRONGEST_SOLUTION.si)) {
    const fault = `"${written}" is stronger than any hypochlorite solution (${show(STRONGEST_SOLUTION, "g/L")})`;
    return { ok: false, fault, mend: "write the strength of the solution in the tank as available chlorine" };
  }
  return parsed;
}

/** The basis of a strength that is written in percent; undefined if it is written otherwise. */
export function parsePercent(text: string, specificGravity?: Fraction): Parsed<PercentBasis> | undefined {
  const split = splitWritten(text);
  const match = split.ok ? PERCENT.exec(split.value.unit) : null;
  if (!split.ok || match === null) return undefined;
  const percent = split.value.amount;
  if (percent.lte(0)) {
    const fault = `"${text.trim()}" is ${percent.equals(0) ? "zero" : "below zero"}`;
    return { ok: false, fault, mend: `write ${KINDS.strength.name} above zero` };
  }
  const byWeight = /w\/w|wt|by weight/i.test(match[1] ?? "");
  if (byWeight && specificGravity === undefined) {
    const mend = "give the specific gravity of the solution too, from its data sheet";
    return { ok: false, fault: `"${text.trim()}" is by weight, and a dose needs weight by volume`, mend };
  }
  const asHypochlorite = match[2]?.toLowerCase() === "naocl";
  return {
    ok: true,
    value: { percent, specificGravity: byWeight ? specificGravity : undefined, asHypochlorite },
  };
}

function strengthOf({ percent, specificGravity, asHypochlorite }: PercentBasis): Parsed<Strength> {
  return {
    ok: true,
    value: percentOf(percent, specificGravity, asHypochlorite ? CHLORINE_PER_HYPOCHLORITE : 1),
  };
}

/** Percent to strength: 10 g/L per percent, times the specific gravity if by weight, times the share that is Cl2. */
export function percentOf(
  percent: Fraction | number,
  specificGravity: Fraction | number = 1,
  chlorineShare: Fraction | number = 1,
): Strength {
  return fromSi("strength", exact(percent).mul(10).mul(exact(specificGravity)).mul(exact(chlorineShare)));
}

/** What to mix for a tank: stock and water, whose volumes are taken to add up. */
export interface Mix {
  readonly stock: Volume;
  readonly water: Volume;
  /** Water per one part of stock, by volume. */
  readonly partsWater: Fraction;
}

/**
 * Amounts that make `total` of strength `wanted` from a stronger stock: C1·V1 = C2·V2.
 * Undefined if the stock is weaker than what is wanted. Source: dilution formula of operator courses.
 */
export function dilute(stock: Strength, wanted: Strength, total: Volume): Mix | undefined {
  if (stock.si.lt(wanted.si)) return undefined;
  const ofStock = total.si.mul(wanted.si).div(stock.si);
  return {
    stock: fromSi("volume", ofStock),
    water: fromSi("volume", total.si.sub(ofStock)),
    partsWater: stock.si.div(wanted.si).sub(1),
  };
}

/** Strength after a stock is mixed with water; volumes are taken to add up. */
export function strengthOfMix(
  stock: Strength,
  { stock: ofStock, water }: Pick<Mix, "stock" | "water">,
): Strength {
  return fromSi("strength", stock.si.mul(ofStock.si).div(ofStock.si.add(water.si)));
}

/** Dry product (calcium hypochlorite, …) that brings `total` of water to `wanted`; `available` is its share of Cl2, 0 to 1. */
export function dryProduct(total: Volume, wanted: Strength | Dose, available: Fraction | number): Mass {
  return fromSi("mass", total.si.mul(wanted.si).div(exact(available)));
}

/** How long a tank lasts at a feed: usable volume / feed. Throws (division by zero) if the feed is zero. */
export function tankLife(usable: Volume, feed: Flow): Duration {
  return fromSi("duration", usable.si.div(feed.si));
}
