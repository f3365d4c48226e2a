/**
 * Does our exact value print as the source printed it? Helpers of the reference checks.
 *
 * A source that carries on with a rounded constant (8.34 lb/gal for 8.3454) is met by scaling our exact value with that
 * constant over the exact one: the difference is then explained, not tolerated.
 */
import type Fraction from "fraction.js";
import { exact } from "../../../lib/dosing/units.js";

/** Where a value was published, and how we saw it. */
export interface Source {
  readonly title: string;
  readonly publisher: string;
  readonly year?: number;
  readonly locator: string;
  /** How the value was seen, where that was not the document itself. */
  readonly seen?: string;
}

/** One published value. */
export interface Row {
  readonly id: string;
  readonly source: Source;
  /** What the source was given, in its own units. */
  readonly inputs: string;
  /** The answer as printed, with its digits. */
  readonly printed: string;
  /** Our answer, exact, in the printed unit. */
  readonly ours: () => Fraction;
  /** The rounded constants the source used, over the exact ones. */
  readonly carries?: { readonly why: string; readonly factor: Fraction };
  /** True where the source cut the digits off instead of rounding. */
  readonly cut?: true;
}

/** 8.34 lb/(MG·mg/L) of handbooks over the exact figure. */
export const POUNDS_FACTOR = {
  why: "8.34 stands for 8.345404 lb per million gallons and mg/L",
  factor: exact("8.34").div(exact("3.785411784").div("0.45359237")),
};

/** Our value with the digits that the source prints. */
export function asPrinted({ printed, ours, carries, cut }: Row): string {
  const decimals = printed.split(".")[1]?.length ?? 0;
  const value = carries === undefined ? ours() : ours().mul(carries.factor);
  const digits = cut === true ? value.floor(decimals) : value.round(decimals);
  return digits.valueOf().toFixed(decimals);
}
