/**
 * How does the device's clock stand to the bench's, and how fast does it run? From round trips of `time`. Harness layer.
 *
 * Pure. F. Cristian, "Probabilistic clock synchronization", Distributed Computing 3, 1989: the device read its clock
 * between asking and answering, so the offset is known to within half the round trip. Of several round trips the
 * shortest counts (clock filter, RFC 5905, section 10); drift is the slope between the shortest of the first half and
 * of the second.
 */
import type { Micros } from "../../lib/pacing/index.js";

/** One question for the time. */
export interface RoundTrip {
  readonly askedMicros: Micros;
  readonly answeredMicros: Micros;
  /** The device's reading, unwrapped, in µs. */
  readonly deviceMicros: Micros;
}

export interface ClockEstimate {
  /** Device time less bench time, in µs, at the middle of the best round trip. */
  readonly offsetMicros: number;
  /** The offset lies within so much of it: half the best round trip. */
  readonly uncertaintyMicros: number;
  /** How much faster the device's clock runs, in millionths; undefined with fewer than two round trips. */
  readonly driftPpm?: number;
  /** The drift lies within so much of it. */
  readonly driftUncertaintyPpm?: number;
}

const MILLION = 1_000_000;

/** Undefined without a round trip. */
export function estimateClock(trips: readonly RoundTrip[]): ClockEstimate | undefined {
  const best = shortest(trips);
  if (best === undefined) return undefined;
  const estimate = { offsetMicros: offsetOf(best), uncertaintyMicros: halfTrip(best) };
  const half = Math.ceil(trips.length / 2);
  const early = shortest(trips.slice(0, half));
  const late = shortest(trips.slice(half));
  if (early === undefined || late === undefined) return estimate;
  const apart = middle(late) - middle(early);
  if (apart <= 0) return estimate;
  return {
    ...estimate,
    driftPpm: ((offsetOf(late) - offsetOf(early)) / apart) * MILLION,
    driftUncertaintyPpm: ((halfTrip(early) + halfTrip(late)) / apart) * MILLION,
  };
}

function shortest(trips: readonly RoundTrip[]): RoundTrip | undefined {
  let best: RoundTrip | undefined;
  for (const trip of trips) if (best === undefined || halfTrip(trip) < halfTrip(best)) best = trip;
  return best;
}

const middle = (trip: RoundTrip): number => (trip.askedMicros + trip.answeredMicros) / 2;
const halfTrip = (trip: RoundTrip): number => (trip.answeredMicros - trip.askedMicros) / 2;
const offsetOf = (trip: RoundTrip): number => trip.deviceMicros - middle(trip);
