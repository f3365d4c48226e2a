/**
 * How is a time written? Decimal seconds with up to six decimals, read and written without rounding. Trace layer.
 */
import { LAST_MICROS, type Micros, SECOND } from "../pacing/index.js";

const DECIMAL_SECONDS = /^(\d{1,10})(?:\.(\d{1,6}))?$/;

/** Microseconds of decimal seconds such as `12` or `12.000345`; undefined for anything else, or past the last time. */
export function parseSeconds(text: string): Micros | undefined {
  const parts = DECIMAL_SECONDS.exec(text);
  if (parts === null) return undefined;
  const micros = Number(parts[1]) * SECOND + Number((parts[2] ?? "").padEnd(6, "0"));
  return micros <= LAST_MICROS ? micros : undefined;
}

/** Seconds with all six decimals, as `12.000345`. */
export function formatSeconds(micros: Micros): string {
  const fraction = micros % SECOND;
  return `${(micros - fraction) / SECOND}.${String(fraction).padStart(6, "0")}`;
}
