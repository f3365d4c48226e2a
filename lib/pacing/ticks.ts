/**
 * What time is it, when the hardware counter has wrapped? Pacing layer; imports nothing.
 */

/** Width of a free-running hardware counter, in bits. */
export type TickBits = 16 | 24 | 32;

/**
 * Turns a wrapping counter into one that only grows.
 *
 * Returns the first count at or after `lastTicks` (the last answer, 0 at the start) that reads as `rawTicks` on a
 * counter of `bits` bits. Call it at least once a wrap: a longer silence cannot be told from a shorter one and
 * loses a whole number of wraps.
 */
export function unwrapTicks(lastTicks: number, rawTicks: number, bits: TickBits): number {
  const wrap = bits === 16 ? 0x1_0000 : bits === 24 ? 0x100_0000 : 0x1_0000_0000;
  const raw = ((rawTicks % wrap) + wrap) % wrap;
  const lastRaw = lastTicks % wrap;
  return lastTicks - lastRaw + raw + (raw < lastRaw ? wrap : 0);
}
