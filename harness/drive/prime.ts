/**
 * Is the prime override held? A terminal sees a key go down, and repeat, but never come up. Harness layer.
 */
import type { Micros } from "../../lib/pacing/index.js";

/**
 * How long after its last sign a key counts as held, in µs. A key that is held repeats after 250 to 660 ms (the usual
 * delays of terminals and desktops, from memory) and then every 30 to 100 ms: shorter than the longest usual delay, a
 * held key would stop and start; longer, prime would outlast the hand by more than it must.
 */
export const RELEASE_MICROS: Micros = 700_000;

export interface PrimeKey {
  /** Until when it counts as held; undefined while it does not. */
  readonly untilMicros: Micros | undefined;
  /** A sign of it; true where it was not held before. */
  press(nowMicros: Micros): boolean;
  /** True where it is held no more by now, once. */
  isLetGo(nowMicros: Micros): boolean;
  /** It is let go of, whatever its signs. */
  clear(): void;
}

export function primeKey(): PrimeKey {
  let untilMicros: Micros | undefined;
  return {
    get untilMicros() {
      return untilMicros;
    },
    press(nowMicros) {
      const isNew = untilMicros === undefined;
      untilMicros = nowMicros + RELEASE_MICROS;
      return isNew;
    },
    isLetGo(nowMicros) {
      if (untilMicros === undefined || nowMicros < untilMicros) return false;
      untilMicros = undefined;
      return true;
    },
    clear() {
      untilMicros = undefined;
    },
  };
}
