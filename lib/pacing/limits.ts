/**
 * What is the largest number that anything in the core may be?
 *
 * Pacing layer; imports nothing. Every limit is chosen so that sums and products in the core stay below
 * 2^53, where integer arithmetic on JavaScript numbers is exact.
 */

/** Time: a whole number of microseconds on one monotonic clock, 0 to {@link LAST_MICROS}. */
export type Micros = number;

export const SECOND: Micros = 1_000_000;
export const MINUTE: Micros = 60 * SECOND;
export const HOUR: Micros = 60 * MINUTE;
export const DAY: Micros = 24 * HOUR;

/** The latest time that a step accepts: 2^51 µs, some 71 years. Later times act as this one. */
export const LAST_MICROS: Micros = 2_251_799_813_685_248;
/** Stands for "never yet": so far back that every interval from it is longer than any setting. */
export const LONG_AGO: Micros = -LAST_MICROS;
/** Stands for "no wake-up is needed": later than any time. */
export const NO_WAKE: Micros = 9_007_199_254_740_991;

/** Largest multiplier or divisor of a ratio. */
export const RATIO_TERM_MAX = 65_535;
/** Largest number of strokes that may be owed at once. */
export const OWED_LIMIT_MAX = 1_000_000;
/** Largest budget, and largest burst, of the guard. */
export const GUARD_STROKES_MAX = 65_535;

/** The whole number of microseconds at or below `micros`, kept from `least` to `most`; what is no number is `least`. */
export function wholeMicros(micros: number, least: Micros, most: Micros): Micros {
  if (!(micros > least)) return least;
  return micros > most ? most : Math.floor(micros);
}
