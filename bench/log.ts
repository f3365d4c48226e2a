/**
 * What do all sides run on? Invented days of a small water system, and what each side made of them.
 *
 * Bench. The same seed gives the same days. Contacts stand on a grid of 10 ms, presses beside it, so that no stroke is
 * due in the millisecond of a press: sides may order one instant as they like and must still agree. Nothing in the
 * log makes the pacer shed but a hold: every side is asked for what the plain pipeline can do, and no more.
 */

/** Milliseconds since the start; whole, since that is what the schedulers of the other sides count in. */
export type Millis = number;

export const KINDS = ["contact", "prime-on", "prime-off", "hold-on", "hold-off"] as const;
export type Kind = (typeof KINDS)[number];

/** Inputs by column; `kinds` holds places in {@link KINDS}. */
export interface Log {
  readonly length: number;
  readonly atMillis: Float64Array;
  readonly kinds: Uint8Array;
  readonly endMillis: Millis;
}

/** What every side is set to: 3 strokes for every 2 contacts, 600 strokes a minute, prime at the cap. */
export const TERMS = { strokes: 3, contacts: 2, spacingMillis: 100, longestPrimeMillis: 30_050 } as const;

/** The strokes of a side: two sides made the same strokes if all of it is equal. */
export interface Tally {
  paced: number;
  primed: number;
  /** Sum of the times of all strokes; exact. */
  sumMillis: Millis;
}

/** One run of one side over the log, that can be stopped on the way. */
export interface Session {
  readonly tally: Tally;
  /** Gives all inputs, and makes all strokes, up to and including `untilMillis`. */
  runTo(untilMillis: Millis): void;
}

/** One of the implementations that are compared. */
export interface Side {
  readonly name: string;
  start(log: Log): Session;
}

export function newTally(): Tally {
  return { paced: 0, primed: 0, sumMillis: 0 };
}

const DAY_MILLIS: Millis = 86_400_000;
const HOUR_MILLIS: Millis = 3_600_000;

// How many contacts in a row, and the least and most time between them: a tap, a shower, a refill beyond the cap, a lull.
const STRETCHES = [
  { contacts: 60, leastMillis: 400, mostMillis: 3_000 },
  { contacts: 120, leastMillis: 300, mostMillis: 700 },
  { contacts: 100, leastMillis: 80, mostMillis: 120 },
  { contacts: 20, leastMillis: 20_000, mostMillis: 240_000 },
] as const;

/** Some 10 thousand contacts a day, a hold and a prime every three hours, every other prime past its longest. */
export function inventLog(seed: number, days: number): Log {
  const random = generator(seed);
  const between = (least: number, most: number): number => Math.floor(least + random() * (most - least));
  const inputs: { atMillis: Millis; kind: Kind }[] = [];
  const lastMillis = days * DAY_MILLIS;
  let atMillis = 0;
  while (atMillis < lastMillis) {
    const { contacts, leastMillis, mostMillis } = STRETCHES[between(0, STRETCHES.length)] ?? STRETCHES[0];
    for (let i = 0; i < contacts && atMillis < lastMillis; i++) {
      atMillis += 10 * between(leastMillis / 10, mostMillis / 10 + 1);
      inputs.push({ atMillis, kind: "contact" });
    }
  }
  for (let hour = 0; hour < 24 * days; hour += 3) {
    const holdMillis = hour * HOUR_MILLIS + 10 * between(0, 100_000);
    const primeMillis = hour * HOUR_MILLIS + 10 * between(200_000, 300_000);
    const primeForMillis = hour % 2 === 1 ? 40_000 : between(3, 20) * 1_000;
    inputs.push({ atMillis: holdMillis + 3, kind: "hold-on" });
    inputs.push({ atMillis: holdMillis + 60_003, kind: "hold-off" });
    inputs.push({ atMillis: primeMillis + 5, kind: "prime-on" });
    inputs.push({ atMillis: primeMillis + primeForMillis + 7, kind: "prime-off" });
  }
  inputs.sort((a, b) => a.atMillis - b.atMillis);
  return {
    length: inputs.length,
    atMillis: Float64Array.from(inputs, (input) => input.atMillis),
    kinds: Uint8Array.from(inputs, (input) => KINDS.indexOf(input.kind)),
    endMillis: lastMillis + HOUR_MILLIS,
  };
}

/** Numbers from 0 up to 1, the same for the same seed: mulberry32, a common public-domain generator. */
export function generator(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}
