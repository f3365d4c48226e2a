/**
 * How did counts go over time, however long it was? A fixed number of bins that merge as time grows. Harness layer.
 */
import { type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";

/** Most bins that are kept. When time outgrows them, neighbours merge. */
export const BINS_MOST = 72;

// Widths that people can read off a clock; past a day it goes on in doublings.
const WIDTHS: readonly Micros[] = [
  1, 2, 10, 20, 60, 120, 600, 1_200, 3_600, 7_200, 14_400, 43_200, 86_400,
].map((seconds) => seconds * SECOND);

/** Counts of one kind of thing in bins of `widthMicros`, the first of which starts at time 0. */
export interface Bins {
  readonly widthMicros: Micros;
  /** One row of counts for each kind, all of one length. */
  readonly counts: readonly (readonly number[])[];
  add(kind: number, atMicros: Micros, count: number): void;
}

/** Starts empty bins for `kinds` kinds of things. */
export function newBins(kinds: number): Bins {
  let widthMicros = WIDTHS[0] ?? MINUTE;
  let counts: number[][] = Array.from({ length: kinds }, () => []);

  const widenTo = (next: Micros): void => {
    counts = counts.map((row) => {
      const wide: number[] = [];
      row.forEach((count, i) => {
        const place = Math.floor(i / (next / widthMicros));
        wide[place] = (wide[place] ?? 0) + count;
      });
      return wide;
    });
    widthMicros = next;
  };

  return {
    get widthMicros() {
      return widthMicros;
    },
    get counts() {
      const length = Math.max(0, ...counts.map((row) => row.length));
      return counts.map((row) => Array.from({ length }, (_, i) => row[i] ?? 0));
    },
    add(kind, atMicros, count) {
      while (atMicros >= BINS_MOST * widthMicros) widenTo(widerThan(widthMicros));
      const row = counts[kind];
      const place = Math.floor(atMicros / widthMicros);
      if (row !== undefined) row[place] = (row[place] ?? 0) + count;
    },
  };
}

// Only a multiple of the last width, so that no bin is ever cut in two.
function widerThan(widthMicros: Micros): Micros {
  return WIDTHS.find((width) => width > widthMicros && width % widthMicros === 0) ?? 2 * widthMicros;
}
