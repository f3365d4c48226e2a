/**
 * What do new settings carry over, and which are refused?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Input, SECOND, type Settings, type SettingsInput } from "../../lib/pacing/index.js";
import { carriedRemainder } from "../../lib/pacing/change.js";
import { at, contacts, run, strokeTimes, valid } from "./kit.js";

function change(atMicros: number, settings: Settings, confirmed = false): Input {
  return { kind: "settings", atMicros, settings, confirmed };
}

/** The state just after a change that follows `count` contacts, a second apart, and leaves nothing to wait for. */
function changed(from: Partial<SettingsInput>, to: Partial<SettingsInput>, count: number, confirmed = true) {
  const settings = valid({ cadence: "prompt", ...from });
  const inputs = [
    ...contacts(count),
    change(count * SECOND + 500_000, valid({ cadence: "prompt", ...to }), confirmed),
  ];
  return run(settings, inputs, count * SECOND + 500_000);
}

describe("the remainder carries over, rounded down to the new denominator", () => {
  test.each([
    { remainder: 0, from: 7, to: 3, carried: 0 },
    { remainder: 6, from: 7, to: 7, carried: 6 },
    { remainder: 6, from: 7, to: 1, carried: 0 },
    { remainder: 1, from: 2, to: 3, carried: 1 },
    { remainder: 2, from: 3, to: 2, carried: 1 },
    { remainder: 1, from: 3, to: 6, carried: 2 },
    { remainder: 1, from: 65_535, to: 65_534, carried: 0 },
    { remainder: 65_534, from: 65_535, to: 65_535, carried: 65_534 },
    { remainder: 65_534, from: 65_535, to: 1, carried: 0 },
  ])("$remainder/$from is $carried/$to", ({ remainder, from, to, carried }) => {
    expect(carriedRemainder(remainder, { contacts: from }, { contacts: to })).toBe(carried);
  });

  test("never up, and never by a whole part or more down", () => {
    const term = fc.integer({ min: 1, max: 65_535 });
    fc.assert(
      fc.property(term, term, fc.nat(), (from, to, seed) => {
        const remainder = seed % from;
        const lost =
          remainder * to - carriedRemainder(remainder, { contacts: from }, { contacts: to }) * from;
        expect(lost >= 0 && lost < from).toBe(true);
      }),
    );
  });

  test("in a running pacer", () => {
    // Five contacts of 3:7 are 15/7: two strokes and 1/7; over 20 that is ⌊20/7⌋ = 2.
    const { state } = changed({ strokes: 3, contacts: 7 }, { strokes: 3, contacts: 20 }, 5);
    expect(state).toMatchObject({ earned: 2, paced: 2, remainder: 2 });
  });
});

describe("an increase of the feed beyond the factor is refused unless it is confirmed", () => {
  test.each([
    { title: "the same", from: [3, 7], to: [3, 7], factor: 1, refused: 0 },
    { title: "the same in other terms", from: [3, 7], to: [6, 14], factor: 1, refused: 0 },
    { title: "the nearest below", from: [3, 7], to: [28_086, 65_535], factor: 1, refused: 0 },
    { title: "the nearest above", from: [3, 7], to: [28_087, 65_535], factor: 1, refused: 1 },
    { title: "exactly twice", from: [1, 10], to: [2, 10], factor: 2, refused: 0 },
    { title: "just over twice", from: [1, 10], to: [6_554, 32_765], factor: 2, refused: 1 },
    { title: "twice by fewer contacts", from: [1, 10], to: [1, 5], factor: 2, refused: 0 },
    { title: "more than twice by fewer contacts", from: [1, 10], to: [1, 4], factor: 2, refused: 1 },
    { title: "ten times, one key press too many", from: [8, 100], to: [80, 100], factor: 2, refused: 1 },
    { title: "ten times where ten are allowed", from: [8, 100], to: [80, 100], factor: 10, refused: 0 },
    { title: "a decrease, however deep", from: [65_535, 1], to: [1, 65_535], factor: 1, refused: 0 },
    { title: "the largest there is", from: [1, 65_535], to: [65_535, 1], factor: 1_000, refused: 1 },
  ] as const)("$title: $from to $to, factor $factor", ({ from, to, factor, refused }) => {
    const terms = ([strokes, per]: readonly [number, number]): Partial<SettingsInput> => {
      return { strokes, contacts: per, leastSpacingMicros: 1, largestIncrease: factor };
    };
    expect(changed(terms(from), terms(to), 0, false).state.refused).toBe(refused);
    expect(changed(terms(from), terms(to), 0, true).state.refused).toBe(0);
  });

  test("the factor in force decides, not the one that comes with the change", () => {
    const strict = { largestIncrease: 2 };
    expect(changed(strict, { strokes: 3, largestIncrease: 1_000 }, 0, false).state.refused).toBe(1);
  });

  test("a refused change changes nothing but the count and the alarm", () => {
    const { state, effects } = changed({ strokes: 3, contacts: 7 }, { strokes: 9, contacts: 7 }, 5, false);
    const before = run(valid({ strokes: 3, contacts: 7, cadence: "prompt" }), contacts(5), 5 * SECOND).state;
    const { nowMicros } = state;
    expect(state).toEqual({ ...before, nowMicros, refused: 1, alarms: 1024, raised: 1024, cleared: 0 });
    expect(effects.slice(-2)).toEqual([
      { kind: "refused", atMicros: nowMicros },
      { kind: "alarm-on", atMicros: nowMicros, alarm: "change-refused" },
    ]);
  });
});

describe("what is owed stays owed", () => {
  const owing = { strokes: 8, contacts: 1, leastSpacingMicros: 100_000 };

  test.each([
    { limit: 4, owed: 4, shed: 0 },
    { limit: 3, owed: 3, shed: 1 },
    { limit: 1, owed: 1, shed: 3 },
  ])("up to the new limit of $limit", ({ limit, owed, shed }) => {
    // 8 strokes, 100 ms apart from 1 s on, of which four are made by 1.35 s.
    const next = valid({
      strokes: 1,
      leastSpacingMicros: 100_000,
      cadence: "prompt",
      owedLimitStrokes: limit,
    });
    const inputs = [at(SECOND), change(SECOND + 350_000, next)];
    const { state } = run(valid({ ...owing, cadence: "prompt" }), inputs, SECOND + 350_000);
    expect(state).toMatchObject({ earned: 8, paced: 4, owed, shedLimit: shed, alarms: shed > 0 ? 8 : 0 });
  });

  test("and is laid out anew from the change, within what is left of the grace", () => {
    const next = valid({ strokes: 2, graceMicros: 2 * SECOND });
    const inputs = [at(0, "hold-on"), at(0), at(0, "hold-off"), at(SECOND), change(SECOND + 62_500, next)];
    // Eight in a second are planned every 125 ms from 62.5 ms on: one is made when the change comes. Seven in the last
    // interval, a second, are 142,857 µs and 1/7 apart.
    const { effects } = run(valid({ strokes: 8 }), inputs, 4 * SECOND);
    const from = SECOND + 62_500;
    const slices = [0, 1, 2, 3, 4, 5, 6].map((i) => from + 71_428 + i * 142_857);
    expect(strokeTimes(effects)).toEqual([from, ...slices]);
  });

  test("is shed at once where the new grace has passed already", () => {
    const next = valid({ strokes: 1, graceMicros: 300_000, leastSpacingMicros: 100_000 });
    const inputs = [at(SECOND), change(SECOND + 300_000, next)];
    const { state } = run(valid(owing), inputs, SECOND + 300_000);
    expect(state).toMatchObject({ earned: 8, owed: 0, shedStill: 8 });
  });
});

test("the least spacing in force counts from the last stroke", () => {
  const from = valid({ strokes: 2, leastSpacingMicros: 1_000, cadence: "prompt" });
  const slower = valid({ strokes: 2, leastSpacingMicros: 5_000, cadence: "prompt" });
  const { effects } = run(from, [at(10_000), change(10_500, slower)], SECOND);
  expect(strokeTimes(effects)).toEqual([10_000, 15_000]);
});

describe("what the old guard had used up counts against the new", () => {
  const guard = (over: Partial<SettingsInput>) => {
    return valid({ cadence: "prompt", leastSpacingMicros: 1, guardPeriodMicros: 1_000, ...over });
  };

  test("a rest is rounded up", () => {
    // Interval 333 1/3 µs: full again at 333 and 1/3.
    const inputs = [at(0), change(10, guard({ guardBudgetStrokes: 2 }))];
    const { state } = run(guard({ guardBudgetStrokes: 3 }), inputs, 10);
    expect([state.guardFullMicros, state.guardFullRest]).toEqual([334, 0]);
  });

  test("a whole time stays as it is", () => {
    const inputs = [at(0), change(10, guard({ guardBudgetStrokes: 4 }))];
    const { state } = run(guard({ guardBudgetStrokes: 2 }), inputs, 10);
    expect([state.guardFullMicros, state.guardFullRest]).toEqual([500, 0]);
  });

  test.each([
    { burst: 3, full: 1_010 },
    { burst: 2, full: 510 },
    { burst: 1, full: 10 },
  ])("but never shuts it outright: with a burst of $burst one stroke may pass at once", ({ burst, full }) => {
    const used = guard({ guardBudgetStrokes: 1, guardBurstStrokes: 10 });
    const next = guard({ guardBudgetStrokes: 2, guardBurstStrokes: burst });
    const { state } = run(used, [at(0), at(1), at(2), change(10, next)], 10);
    expect(state.guardFullMicros).toBe(full);
    expect(run(state, [at(10)], 10).state).toMatchObject({ paced: 4, tripped: 0 });
    expect(run(state, [at(10), at(11)], 11).state).toMatchObject({ paced: 4, tripped: 1 });
  });

  test("the same guard goes on exactly: changing something else buys no stroke", () => {
    const terms = { guardBudgetStrokes: 3, guardBurstStrokes: 2 };
    const inputs = [at(0), at(1), change(2, guard({ ...terms, graceMicros: 1_000 }))];
    const { state } = run(guard(terms), inputs, 2);
    expect([state.guardFullMicros, state.guardFullRest]).toEqual([666, 2]);
    expect(run(state, [at(3)], 3).state).toMatchObject({ paced: 2, tripped: 1 });
  });

  test.each([
    { title: "budget", next: { guardBudgetStrokes: 2 } },
    { title: "period", next: { guardPeriodMicros: 999 } },
    { title: "burst", next: { guardBurstStrokes: 1 } },
  ])("another $title is another guard", ({ next }) => {
    const terms = { guardBudgetStrokes: 3, guardBurstStrokes: 2 };
    const inputs = [at(0), at(1), change(2, guard({ ...terms, ...next }))];
    expect(run(guard(terms), inputs, 2).state.guardFullRest).toBe(0);
  });

  test("no guard for a while refills it only by that while", () => {
    const terms = { guardBudgetStrokes: 4 };
    const inputs = [at(0), at(1), change(2, guard({ guardBudgetStrokes: 0 })), change(3, guard(terms))];
    expect(run(guard(terms), inputs, 3).state.guardFullMicros).toBe(500);
  });
});

test("with nothing owed, every number of the state stays whole", () => {
  const { state } = changed({ strokes: 3, contacts: 7, cadence: "spread" }, { cadence: "spread" }, 1);
  const numbers = Object.values(state).filter((value) => typeof value === "number");
  expect(numbers.filter((value) => !Number.isSafeInteger(value))).toEqual([]);
});

test("a shorter grace that is over already, but for a closure that qualifies meanwhile, leaves a plan of no negative times", () => {
  const before = valid({ strokes: 2, contacts: 3, leastSpacingMicros: SECOND, closedMicros: 5 * SECOND });
  const after = valid({
    strokes: 2,
    contacts: 3,
    leastSpacingMicros: 500_000,
    graceMicros: 530_000,
    closedMicros: 20_000,
  });
  const flow = Array.from({ length: 6 }, (_, i) => at(1_000_000 + i * 100_000));
  const { state } = run(before, [...flow, at(2_000_000, "close"), change(2_050_000, after)], 2_050_000);
  // The last contact of the flow came at 1.5 s; its grace would be over at 2.03 s, had the closure not counted at 2.02 s.
  expect(state).toMatchObject({ counted: 7, owed: 2, contactMicros: 2_020_000, planMicros: 2_050_000 });
  expect([state.planStepMicros, state.planStepRest]).toEqual([0, 0]);
});
