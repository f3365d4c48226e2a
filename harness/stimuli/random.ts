/**
 * Where does chance come from? One seeded generator: the same seed gives the same stimulus. Harness layer.
 */

/** Draws numbers from 0 up to, not including, 1. Mulberry32 (T. Ettinger, 2017, public domain): 32 bits of state. */
export function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 0x1_0000_0000;
  };
}
