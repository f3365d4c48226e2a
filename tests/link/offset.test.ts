/**
 * Are offset and drift what a computed pair of clocks has?
 */
import { expect, test } from "vitest";
import { estimateClock, type RoundTrip } from "../../harness/link/offset.js";

/** A device whose clock is ahead by `offset` at 0 and fast by `ppm`, read `there` µs after the question. */
function trip(askedMicros: number, there: number, back: number, offset: number, ppm = 0): RoundTrip {
  const readMicros = askedMicros + there;
  return {
    askedMicros,
    answeredMicros: readMicros + back,
    deviceMicros: readMicros + offset + (readMicros * ppm) / 1_000_000,
  };
}

test("nothing is known without a round trip, and no drift from one", () => {
  expect([estimateClock([]), estimateClock([trip(0, 300, 300, 5_000)])]).toEqual([
    undefined,
    { offsetMicros: 5_000, uncertaintyMicros: 300 },
  ]);
});

test("the shortest round trip counts, and the offset is within half of it, however lopsided", () => {
  const estimate = estimateClock([
    trip(0, 9_000, 1_000, 70),
    trip(20_000, 400, 0, 70),
    trip(40_000, 0, 8_000, 70),
  ]);
  expect(estimate).toMatchObject({ offsetMicros: 270, uncertaintyMicros: 200 });
});

test("drift is the slope between the shortest of the first half and of the second", () => {
  const estimate = estimateClock([
    trip(0, 100, 100, 0, 20_000),
    trip(1_000_000, 5_000, 100, 0, 20_000),
    trip(9_000_000, 9_000, 100, 0, 20_000),
    trip(10_000_000, 100, 100, 0, 20_000),
  ]);
  expect(estimate?.driftPpm).toBeCloseTo(20_000, 6);
  expect(estimate?.driftUncertaintyPpm).toBeCloseTo(20, 6);
});

test("two readings at one moment tell no drift", () => {
  const same = trip(0, 10, 10, 3);
  expect(estimateClock([same, same])).toEqual({ offsetMicros: 3, uncertaintyMicros: 10 });
});
