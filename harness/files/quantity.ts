/**
 * How do people write durations, rates and ratios, and what whole numbers are they? Harness layer, at the edge.
 *
 * Every reader takes a text and gives whole numbers for the pacing core, or a refusal with its mend. Nothing is
 * rounded in silence: a duration finer than a microsecond is refused, and a rate cap is never exceeded by rounding.
 */
import ms from "ms";
import { DAY, HOUR, type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";

export interface Refusal {
  readonly mend: string;
}

export function isRefusal(read: object | number | string): read is Refusal {
  return typeof read === "object" && "mend" in read;
}

/** A duration with its unit, such as `90 s`, `10 ms` or `1.5 h`, in microseconds; `0` and `never` are 0. */
export function readDuration(text: string): Micros | Refusal {
  if (/^(0|never)$/.test(text)) return 0;
  // The library reads a number without a unit as milliseconds: too easy to get wrong for a dose.
  const millis = /[a-z]$/i.test(text) ? ms(text as ms.StringValue) : undefined;
  if (typeof millis !== "number" || millis < 0) {
    return { mend: 'give a duration with its unit, such as "90 s", "10 ms", "2 min" or "1 h"' };
  }
  const micros = Math.round(millis * 1_000);
  if (Math.abs(micros - millis * 1_000) > 0.001) return { mend: "give whole microseconds, 0.001 ms or more" };
  return micros;
}

/** The shortest exact way to write a duration. */
export function formatDuration(micros: Micros): string {
  for (const [size, unit] of UNITS) {
    if (micros % size === 0 && micros >= size) return `${micros / size} ${unit}`;
  }
  return micros === 0 ? "0 s" : `${micros / 1_000} ms`;
}

const UNITS: readonly (readonly [Micros, string])[] = [
  [DAY, "d"],
  [HOUR, "h"],
  [MINUTE, "min"],
  [SECOND, "s"],
];

const RATE_MEND = "give strokes per minute above 0, such as 120 or 7.5, at most six decimals";

/** Strokes per minute, as the least time between two strokes: 60 s / rate, rounded up so that the cap holds. */
export function readRate(text: string): Micros | Refusal {
  const [, whole, fraction = ""] = /^(\d{1,9})(?:\.(\d{1,6}))?$/.exec(text) ?? [];
  if (whole === undefined) return { mend: RATE_MEND };
  const scaledRate = BigInt(whole + fraction);
  if (scaledRate === 0n) return { mend: RATE_MEND };
  const scaledMinute = BigInt(MINUTE) * 10n ** BigInt(fraction.length);
  return Number((scaledMinute + scaledRate - 1n) / scaledRate);
}

/**
 * The shortest rate, in strokes per minute, that reads back to this spacing. Every spacing that was read from a rate
 * has one, and so has every other below 7 s; else it is the nearest.
 */
export function rateOf(spacingMicros: Micros): number {
  for (let scale = 1; scale <= 1_000_000; scale *= 10) {
    const scaled = (MINUTE * scale) / spacingMicros;
    for (const rate of [Math.round(scaled) / scale, Math.ceil(scaled) / scale]) {
      if (readRate(String(rate)) === spacingMicros) return rate;
    }
  }
  return MINUTE / spacingMicros;
}

export interface Ratio {
  readonly strokes: number;
  readonly contacts: number;
}

/** `m:d`: m strokes for every d contacts, both whole, 1 to 65,535 (the core tells the range). */
export function readRatio(text: string): Ratio | Refusal {
  const [, strokes, contacts] = /^(\d{1,6}):(\d{1,6})$/.exec(text) ?? [];
  if (strokes === undefined || contacts === undefined || Number(strokes) === 0 || Number(contacts) === 0) {
    return { mend: "give strokes:contacts, two whole numbers from 1 to 65535, such as 2:1, 1:5 or 3:2" };
  }
  return { strokes: Number(strokes), contacts: Number(contacts) };
}

export interface Budget {
  readonly guardBudgetStrokes: number;
  readonly guardPeriodMicros: Micros;
}

const PERIODS: { readonly [unit: string]: Micros } = { s: SECOND, min: MINUTE, h: HOUR, d: DAY };

/** `500/h`: strokes per s, min, h, d or a duration (`500/8 h`); `off` is no guard. */
export function readBudget(text: string): Budget | Refusal {
  if (text === "off") return { guardBudgetStrokes: 0, guardPeriodMicros: HOUR };
  const [, budget, period = ""] = /^(\d{1,9})\/(.+)$/.exec(text) ?? [];
  const guardPeriodMicros = PERIODS[period] ?? readDuration(period);
  if (budget === undefined || Number(budget) === 0 || isRefusal(guardPeriodMicros)) {
    return { mend: 'give strokes per period, such as "500/h", "40/min" or "300/8 h" (s, min, h, d), or off' };
  }
  return { guardBudgetStrokes: Number(budget), guardPeriodMicros };
}

export function formatBudget({ guardBudgetStrokes, guardPeriodMicros }: Budget): string {
  if (guardBudgetStrokes === 0) return "off";
  const period = formatDuration(guardPeriodMicros);
  return `${guardBudgetStrokes}/${period.replace(/^1 /, "")}`;
}

/** A count without a sign. */
export function readCount(text: string): number | Refusal {
  return /^\d{1,9}$/.test(text) ? Number(text) : { mend: "give a whole number" };
}
