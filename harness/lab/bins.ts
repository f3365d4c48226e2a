/**
 * What can be seen of a whole day at the width of a page? Sums and extremes in bins of equal length. Harness layer.
 *
 * Downsampled honestly: a bin keeps the highest and the lowest, so that the worst moment is never hidden.
 */
import { DAY, type Micros, MINUTE } from "../../lib/pacing/index.js";
import type { Track } from "./day.js";

/** Length of a bin: a day is 480 of them, about a pixel or two each. */
export const BIN_MICROS: Micros = 3 * MINUTE;
export const BINS = DAY / BIN_MICROS;

/** How many of the times fall into each bin; a time at the very end counts to the last. */
export function countsIn(times: Float64Array, wanted: (place: number) => boolean = () => true): Float64Array {
  const counts = new Float64Array(BINS);
  times.forEach((micros, place) => {
    const bin = Math.min(BINS - 1, Math.floor(micros / BIN_MICROS));
    if (wanted(place)) counts[bin] = (counts[bin] as number) + 1;
  });
  return counts;
}

export interface Extremes {
  readonly low: Float64Array;
  readonly high: Float64Array;
}

/** Lowest and highest of a track in each bin, with the value that it comes into the bin with. */
export function extremesOf({ micros, value }: Track): Extremes {
  const low = new Float64Array(BINS).fill(Infinity);
  const high = new Float64Array(BINS).fill(-Infinity);
  let place = 0;
  let last = value[0] ?? 0;
  for (let bin = 0; bin < BINS; bin++) {
    const untilMicros = (bin + 1) * BIN_MICROS;
    let [lowest, highest] = [last, last];
    for (; place < micros.length && (micros[place] as number) < untilMicros; place++) {
      last = value[place] as number;
      if (last < lowest) lowest = last;
      if (last > highest) highest = last;
    }
    low[bin] = lowest;
    high[bin] = highest;
  }
  return { low, high };
}
