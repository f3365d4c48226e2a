/**
 * Does the guard carry its rests exactly? Its agreement with the published algorithm is in tests/references.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { admitStroke, type GuardBucket, SECOND } from "../../lib/pacing/index.js";
import { at, run, valid } from "./kit.js";

const EMPTY: GuardBucket = { guardFullMicros: 0, guardFullRest: 0 };

describe("7 strokes per 1,000 µs, 4 at once: an interval of 142 6/7 µs, a tolerance of 428 4/7", () => {
  const terms = valid({ guardBudgetStrokes: 7, guardPeriodMicros: 1_000, guardBurstStrokes: 4 });

  test.each([
    { rest: 0, full: 100, next: 242, nextRest: 6 },
    { rest: 1, full: 100, next: 243, nextRest: 0 },
    { rest: 6, full: 100, next: 243, nextRest: 5 },
  ])(
    "a full time of $full and $rest/7 moves on to $next and $nextRest/7",
    ({ rest, full, next, nextRest }) => {
      const bucket: GuardBucket = { guardFullMicros: full, guardFullRest: rest };
      expect(admitStroke(bucket, terms, 100)).toBe(true);
      expect(bucket).toEqual({ guardFullMicros: next, guardFullRest: nextRest });
    },
  );

  test("a full time that has passed is taken as now, without its rest", () => {
    const bucket: GuardBucket = { guardFullMicros: 99, guardFullRest: 5 };
    expect(admitStroke(bucket, terms, 100)).toBe(true);
    expect(bucket).toEqual({ guardFullMicros: 242, guardFullRest: 6 });
  });

  test.each([
    // Full at 1,000 and r/7: earliest at 571 and (r + 3)/7, so 572 at once the rests pass a whole.
    { rest: 4, earliest: 572 },
    { rest: 5, earliest: 573 },
    { rest: 3, earliest: 572 },
    { rest: 0, earliest: 572 },
  ])("full at 1,000 and $rest/7, the earliest stroke is at $earliest", ({ rest, earliest }) => {
    const before: GuardBucket = { guardFullMicros: 1_000, guardFullRest: rest };
    const bucket = { ...before };
    expect(admitStroke(bucket, terms, earliest - 1)).toBe(false);
    expect(bucket).toEqual(before);
    expect(admitStroke(bucket, terms, earliest)).toBe(true);
    expect(bucket.guardFullMicros).toBeGreaterThan(1_000);
  });

  test("a burst of 4 passes at once, the fifth 143 µs on, and in the long run exactly 7 in 1,000 µs", () => {
    const bucket = { ...EMPTY };
    const admitted: number[] = [];
    for (let t = 0; t <= 10_000; t++) while (admitStroke(bucket, terms, t)) admitted.push(t);
    expect(admitted.slice(0, 6)).toEqual([0, 0, 0, 0, 143, 286]);
    expect(admitted.length).toBe(4 + 70);
  });
});

test("in every window of w µs at most burst + ⌊w · budget / period⌋ strokes pass", () => {
  const guards = fc.record({
    guardBudgetStrokes: fc.integer({ min: 1, max: 20 }),
    guardPeriodMicros: fc.integer({ min: 1, max: 500 }),
    guardBurstStrokes: fc.integer({ min: 1, max: 20 }),
  });
  fc.assert(
    fc.property(guards, fc.array(fc.nat(40), { maxLength: 120 }), (guard, gaps) => {
      const terms = valid(guard);
      const bucket = { ...EMPTY };
      let t = 0;
      const admitted = gaps.flatMap((gap) => (admitStroke(bucket, terms, (t += gap)) ? [t] : []));
      for (let i = 0; i < admitted.length; i++) {
        for (let j = i; j < admitted.length; j++) {
          const window = (admitted[j] as number) - (admitted[i] as number);
          const most =
            guard.guardBurstStrokes +
            Math.floor((window * guard.guardBudgetStrokes) / guard.guardPeriodMicros);
          if (j - i + 1 > most) expect({ window, strokes: j - i + 1 }).toBe(`at most ${most}`);
        }
      }
    }),
  );
});

describe("in a pacer", () => {
  const settings = valid({
    cadence: "prompt",
    guardBudgetStrokes: 60,
    guardPeriodMicros: 60 * SECOND,
    guardBurstStrokes: 2,
  });
  const burst = [at(SECOND), at(SECOND + 20_000), at(SECOND + 40_000), at(SECOND + 60_000)];

  test("going over the budget trips: what is owed is shed, and the trip stands", () => {
    const { effects, state } = run(settings, burst, 30 * SECOND);
    expect(effects.filter(({ kind }) => kind !== "counted")).toEqual([
      { kind: "paced", atMicros: SECOND },
      { kind: "paced", atMicros: SECOND + 20_000 },
      { kind: "shed", atMicros: SECOND + 40_000, cause: "trip", strokes: 1 },
      { kind: "alarm-on", atMicros: SECOND + 40_000, alarm: "tripped" },
      { kind: "shed", atMicros: SECOND + 60_000, cause: "trip", strokes: 1 },
    ]);
    expect(state.tripped).toBe(1);
  });

  test("a reset ends the trip but does not refill the budget", () => {
    const inputs = [...burst, at(SECOND + 70_000, "reset"), at(SECOND + 80_000)];
    expect(run(settings, inputs, 2 * SECOND).state).toMatchObject({ tripped: 1, paced: 2, shedTrip: 3 });
    const later = [...burst, at(SECOND + 70_000, "reset"), at(2 * SECOND)];
    expect(run(settings, later, 2 * SECOND).state).toMatchObject({ tripped: 0, paced: 3, shedTrip: 2 });
  });

  test("primed strokes are of the same budget, and a trip ends the priming", () => {
    const { state } = run(settings, [at(SECOND, "prime-on")], 2 * SECOND);
    expect(state).toMatchObject({ primed: 2, tripped: 1, priming: 0 });
  });

  test("a budget of 0 is no guard", () => {
    const free = valid({ cadence: "prompt", guardBudgetStrokes: 0 });
    const many = Array.from({ length: 200 }, (_, i) => at((i + 1) * 10_000));
    expect(run(free, many, 10 * SECOND).state).toMatchObject({ paced: 200, tripped: 0 });
  });
});
