/**
 * At which time does a step act, whatever time it is given?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { LAST_MICROS, newState, step, stepInPlace, wakeUntil } from "../../lib/pacing/index.js";
import { at, valid } from "./kit.js";

const SETTINGS = valid({ silentMicros: 0 });

describe("after a step at 1,000 µs", () => {
  const start = step(newState(SETTINGS), at(1_000, "wake")).state;

  test.each([
    { given: 1_000, acts: 1_000 },
    { given: 1_001, acts: 1_001 },
    { given: 999, acts: 1_000 },
    { given: 1_000.999, acts: 1_000 },
    { given: 1_001.999, acts: 1_001 },
    { given: 0, acts: 1_000 },
    { given: -1, acts: 1_000 },
    { given: NaN, acts: 1_000 },
    { given: -Infinity, acts: 1_000 },
    { given: Infinity, acts: LAST_MICROS },
    { given: 1e30, acts: LAST_MICROS },
    { given: LAST_MICROS - 1, acts: LAST_MICROS - 1 },
    { given: LAST_MICROS, acts: LAST_MICROS },
    { given: LAST_MICROS + 1, acts: LAST_MICROS },
    { given: undefined as unknown as number, acts: 1_000 },
    { given: "2000" as unknown as number, acts: 2_000 },
  ])("a contact at $given acts at $acts", ({ given, acts }) => {
    const { state, effects } = step(start, at(given));
    expect([state.nowMicros, state.contactMicros]).toEqual([acts, acts]);
    expect(effects[0]).toEqual({ kind: "counted", atMicros: acts, contacts: 1, earned: 1 });
  });
});

test("the latest time is 2^51 µs", () => {
  expect(LAST_MICROS).toBe(2 ** 51);
});

test("virtual time ends at the latest time, however late it is to run to", () => {
  const state = newState(SETTINGS, LAST_MICROS - 10);
  stepInPlace(state, at(LAST_MICROS - 5));
  let woken = 0;
  wakeUntil(state, Infinity, () => {
    if (++woken > 100) throw new Error("it never ends");
  });
  expect(state.wakeAtMicros).toBeGreaterThan(LAST_MICROS);
});

test("time never runs back and stays whole, whatever is given", () => {
  const times = fc.array(fc.oneof(fc.double(), fc.double({ min: -10, max: 1e7 }), fc.integer()));
  fc.assert(
    fc.property(times, (given) => {
      const state = newState(SETTINGS);
      let last = 0;
      for (const atMicros of given) {
        stepInPlace(state, at(atMicros));
        expect(Number.isSafeInteger(state.nowMicros) && state.nowMicros >= last).toBe(true);
        expect(state.wakeAtMicros).toBeGreaterThan(state.nowMicros);
        last = state.nowMicros;
      }
    }),
  );
});
