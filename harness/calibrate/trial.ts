/**
 * What may be said of one trial, and is it sound? One reader for the file and for the guided test. Harness layer.
 *
 * Bounds are wide: they catch a slipped unit, not a bad pump.
 */
import type Fraction from "fraction.js";
import { type DrawdownTrial, drawdownStrokeVolume, exact, type Volume } from "../../lib/dosing/index.js";
import { isRefused, QUANTITIES, type QuantityTerm, readQuantity, type Refused } from "../plan/terms.js";

const STROKES_MOST = 1_000_000;
const RATE_MOST = 10_000;
/** A stroke volume that a plan takes. */
const STROKE_TERM = QUANTITIES.find(({ name }) => name === "stroke-volume") as QuantityTerm & {
  kind: "volume";
};

const DRAWN_TERM = {
  name: "drawn",
  kind: "volume",
  about: "volume drawn from the cylinder",
  example: "34 mL",
  from: "0.001 mL",
  to: "10 m3",
} as const satisfies QuantityTerm;

/** Strokes counted, 1 to a million. */
export function readStrokes(text: string): number | Refused {
  const mend = `count whole strokes, 1 to ${STROKES_MOST}`;
  if (!/^\d{1,9}$/.test(text.trim())) return { fault: isEmptyOr(text, "no whole number"), mend };
  const strokes = Number(text);
  return strokes >= 1 && strokes <= STROKES_MOST ? strokes : { fault: `is ${strokes}`, mend };
}

/** Strokes per minute, above 0. */
export function readTrialRate(text: string): Fraction | Refused {
  const mend = `write strokes per minute, above 0 to ${RATE_MOST}, such as 120 or 7.5`;
  const bare = text.trim().replace(/\s*(?:strokes\/min|strokes per minute|\/min)$/i, "");
  if (!/^\d{1,5}(?:\.\d{1,6})?$/.test(bare)) return { fault: isEmptyOr(text, "no rate"), mend };
  const rate = exact(bare);
  return rate.gt(0) && rate.lte(RATE_MOST) ? rate : { fault: `is ${bare}`, mend };
}

/** A volume with its unit; a bare number is in `unit`, where there is one. */
export function readDrawn(text: string, unit?: string): Volume | Refused {
  const bare = /^\s*[\d.]+\s*$/.test(text) && unit !== undefined;
  if (/^\s*0*\.?0*\s*[a-z ]*$/i.test(text) && /0/.test(text)) {
    return {
      fault: "drew nothing",
      mend: "a running pump that draws nothing may be air-locked: bleed it, repeat the trial, and leave this one out",
    };
  }
  return readQuantity(DRAWN_TERM, bare ? `${text.trim()} ${unit}` : text);
}

/** What is wrong with strokes and volume together, if anything. */
export function trialFault({ strokes, drawn }: DrawdownTrial): Refused | undefined {
  const each = drawdownStrokeVolume(drawn, strokes);
  const read = readQuantity(STROKE_TERM, `${each.si.mul(1_000_000).valueOf().toFixed(9)} mL`);
  if (!isRefused(read)) return undefined;
  return {
    fault: `makes ${read.fault.replace(/ to be meant$/, "")} a stroke`,
    mend: "check the count, the volume and its unit",
  };
}

/** A trial as a row of a file: rate (if known), strokes, millilitres. */
export function trialCells({ ratePerMinute, strokes, drawn }: DrawdownTrial): readonly string[] {
  const ml = String(Number(drawn.si.mul(1_000_000).valueOf().toPrecision(12)));
  return [ratePerMinute === undefined ? "" : String(ratePerMinute.valueOf()), String(strokes), ml];
}

function isEmptyOr(text: string, what: string): string {
  return text.trim() === "" ? "is empty" : `"${text.trim().slice(0, 40)}" is ${what}`;
}
