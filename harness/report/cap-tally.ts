/**
 * Where did the cap hold strokes back? Harness layer.
 *
 * A paced stroke that comes exactly the least spacing after the one before it waited for the cap. A stretch lasts from
 * the stroke that made the first one wait to the last one that waited. A little more than the least spacing does not
 * end it: each contact lays its strokes out anew, which can put one somewhat later than the cap asks.
 */
import type { Micros } from "../../lib/pacing/index.js";

export interface CapTally {
  /** Strokes that waited. */
  strokes: number;
  stretches: number;
  firstMicros: Micros;
  longestMicros: Micros;
  longestAtMicros: Micros;
}

export function tallyCap(): {
  readonly tally: CapTally;
  stroke(
    stroke: { readonly kind: "paced" | "primed"; readonly atMicros: Micros },
    leastSpacingMicros: Micros,
  ): void;
} {
  const tally: CapTally = { strokes: 0, stretches: 0, firstMicros: 0, longestMicros: 0, longestAtMicros: 0 };
  let lastMicros: Micros | undefined;
  let startMicros: Micros | undefined;
  return {
    tally,
    stroke({ kind, atMicros }, leastSpacingMicros) {
      const beforeMicros = lastMicros;
      lastMicros = atMicros;
      const spacing = beforeMicros === undefined ? Infinity : atMicros - beforeMicros;
      if (kind !== "paced" || beforeMicros === undefined || spacing > 1.25 * leastSpacingMicros) {
        startMicros = undefined;
        return;
      }
      if (spacing !== leastSpacingMicros) return;
      tally.strokes += 1;
      if (startMicros === undefined) {
        startMicros = beforeMicros;
        tally.stretches += 1;
        if (tally.stretches === 1) tally.firstMicros = startMicros;
      }
      if (atMicros - startMicros > tally.longestMicros) {
        tally.longestMicros = atMicros - startMicros;
        tally.longestAtMicros = startMicros;
      }
    },
  };
}
