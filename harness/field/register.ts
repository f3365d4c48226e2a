/**
 * How many contacts came between two readings of a register, or two stroke numbers? Harness layer.
 *
 * Registers and stroke numbers wrap at 2^32, so only half of the range can be told from going back.
 */
import { FIELD_NUMBER_MOST } from "./field.js";

const RANGE = FIELD_NUMBER_MOST + 1;

/**
 * From `before` up to `now`, modulo 2^32, 0 to 2^31 - 1; undefined if that is half the range or more: then the register
 * went back, as one does that has lost its count, and nobody can say how many came.
 */
export function countedSince(before: number, now: number): number | undefined {
  const counted = (now - before + RANGE) % RANGE;
  return counted < RANGE / 2 ? counted : undefined;
}

/** The number, or the reading, that is `count` further on: 0 follows 4,294,967,295. */
export function countedOn(from: number, count: number): number {
  return (from + count) % RANGE;
}
