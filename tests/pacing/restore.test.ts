/**
 * What does a restart make of a snapshot: what goes on, what is shed, and from when on may it stroke?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  DARK_UNKNOWN,
  type Effect,
  INHIBIT_CAUSES,
  type Input,
  restoreSnapshot,
  SECOND,
  type Settings,
  type State,
  takeSnapshot,
} from "../../lib/pacing/index.js";
import { at, contacts, run, strokeTimes, valid } from "./kit.js";
import { readFields, withFields } from "./snapshot-kit.js";

interface Back {
  readonly state: State;
  readonly effects: readonly Effect[];
  readonly wakeAtMicros: number;
}

function restore(settings: Settings, bytes: Uint8Array, atMicros: number, darkMicros?: number): Back {
  const restored = restoreSnapshot(settings, bytes, atMicros, darkMicros);
  if (!restored.ok) throw new Error(restored.refusal);
  return restored;
}

const GRACE = 30 * SECOND;
const TERMS = { strokes: 5, contacts: 2, graceMicros: GRACE, leastSpacingMicros: 200_000 };
const SETTINGS = valid(TERMS);

/** One second after the third contact, 4 s after the second: 7 earned, some of them owed, remainder 1. */
const OWING = run(
  SETTINGS,
  [at(SECOND), at(2 * SECOND), at(6 * SECOND), at(7 * SECOND, "wake")],
  7 * SECOND,
).state;
const AGE = SECOND;

test("the state that the rows below start from", () => {
  const { earned, paced, owed, remainder, intervalMicros } = OWING;
  expect({ earned, paced, owed, remainder, intervalMicros }).toEqual({
    earned: 7,
    paced: 6,
    owed: 1,
    remainder: 1,
    intervalMicros: 4 * SECOND,
  });
});

describe("what was owed", () => {
  test.each([
    { title: "no time at all", dark: 0, kept: true },
    { title: "a microsecond less than the grace leaves", dark: GRACE - AGE - 1, kept: true },
    { title: "exactly what the grace leaves", dark: GRACE - AGE, kept: false },
    { title: "a microsecond more", dark: GRACE - AGE + 1, kept: false },
    { title: "for ever", dark: Infinity, kept: false },
    { title: "for an unknown time", dark: DARK_UNKNOWN, kept: false },
    { title: "for a time that is not told", dark: undefined, kept: false },
    { title: "for a time that is no number", dark: NaN, kept: false },
  ])("after a dark of $title: kept $kept", ({ dark, kept }) => {
    const { state, effects } = restore(SETTINGS, takeSnapshot(OWING), 3 * SECOND, dark);
    expect({
      owed: state.owed,
      shedPower: state.shedPower,
      earned: state.earned,
      paced: state.paced,
    }).toEqual({
      owed: kept ? 1 : 0,
      shedPower: kept ? 0 : 1,
      earned: 7,
      paced: 6,
    });
    const shed: Effect[] = [
      { kind: "shed", atMicros: 3 * SECOND, cause: "power", strokes: 1 },
      { kind: "alarm-on", atMicros: 3 * SECOND, alarm: "shed-at-restart" },
    ];
    expect(effects).toEqual(kept ? [] : shed);
  });

  test("is spread over what is left of the grace where that is shorter than the interval", () => {
    const { state } = restore(SETTINGS, takeSnapshot(OWING), 0, GRACE - AGE - 2 * SECOND);
    expect(strokeTimes(run(state, [], 60 * SECOND).effects)).toEqual([SECOND]);
  });

  test("and over the interval where not", () => {
    const { state, wakeAtMicros } = restore(SETTINGS, takeSnapshot(OWING), 9 * SECOND, 0);
    expect(wakeAtMicros).toBe(11 * SECOND);
    expect(strokeTimes(run(state, [], 60 * SECOND).effects)).toEqual([11 * SECOND]);
  });

  test("is shed where the grace ends before it can be made", () => {
    const bytes = withFields(takeSnapshot(OWING), { owed: 3, earned: 9 });
    const { state } = restore(SETTINGS, bytes, 0, GRACE - AGE - 300_000);
    expect(run(state, [], 60 * SECOND).state).toMatchObject({ owed: 0, paced: 7, shedStill: 2 });
  });

  test("beyond the limit of the settings at the restart is shed", () => {
    const bytes = withFields(takeSnapshot(OWING), { owed: 6, earned: 12 });
    const tight = valid({ strokes: 5, contacts: 2, graceMicros: GRACE, owedLimitStrokes: 4 });
    const { state, effects } = restore(tight, bytes, 50, 0);
    expect({ owed: state.owed, shedLimit: state.shedLimit }).toEqual({ owed: 4, shedLimit: 2 });
    expect(effects).toEqual([
      { kind: "shed", atMicros: 50, cause: "limit", strokes: 2 },
      { kind: "alarm-on", atMicros: 50, alarm: "owed-limit" },
    ]);
  });
});

test("the first stroke keeps the least spacing from the restart", () => {
  const prompt = valid({ ...TERMS, cadence: "prompt" });
  const { state, wakeAtMicros } = restore(prompt, takeSnapshot(OWING), 9 * SECOND, 0);
  expect(wakeAtMicros).toBe(9 * SECOND + 200_000);
  expect(strokeTimes(run(state, [at(9 * SECOND + 1)], 9 * SECOND + 400_000).effects)).toEqual([
    9 * SECOND + 200_000,
    9 * SECOND + 400_000,
  ]);
});

describe("with other settings", () => {
  test.each([
    { remainder: 1, from: 2, to: 3, carried: 1 },
    { remainder: 6, from: 7, to: 20, carried: 17 },
    { remainder: 6, from: 7, to: 1, carried: 0 },
    { remainder: 65_534, from: 65_535, to: 2, carried: 1 },
  ])("a remainder of $remainder/$from is $carried/$to, rounded down", ({ remainder, from, to, carried }) => {
    const bytes = withFields(takeSnapshot(OWING), { remainder, contacts: from });
    expect(restore(valid({ contacts: to }), bytes, 0, 0).state.remainder).toBe(carried);
  });
});

describe("what the guard had used up", () => {
  const guarded = valid({ guardBudgetStrokes: 10 });
  const bytes = withFields(takeSnapshot(OWING), { guardMicros: 5_000, guardRest: 9 });

  test.each([
    { title: "none", dark: 0, full: 5_700 },
    { title: "less than it needs to be whole", dark: 4_999, full: 701 },
    { title: "just what it needs", dark: 5_000, full: 700 },
    { title: "longer", dark: 9_000, full: 700 },
    { title: "unknown: taken as none", dark: DARK_UNKNOWN, full: 5_700 },
  ])("refills in the dark by the time that is known: $title", ({ dark, full }) => {
    const { state } = restore(guarded, bytes, 700, dark);
    expect([state.guardFullMicros, state.guardFullRest]).toEqual([full, 9]);
  });

  test.each([
    { budget: 10, rest: 9 },
    { budget: 9, rest: 0 },
    { budget: 0, rest: 0 },
  ])("a rest of 9 under a budget of $budget is $rest", ({ budget, rest }) => {
    expect(restore(valid({ guardBudgetStrokes: budget }), bytes, 700, 0).state.guardFullRest).toBe(rest);
  });

  test("is not forgotten where it is more than a month's budget", () => {
    const slow = valid({
      cadence: "prompt",
      silentMicros: 0,
      guardBudgetStrokes: 1,
      guardPeriodMicros: 86_400_000_000,
      guardBurstStrokes: 100,
    });
    const { state } = run(slow, contacts(100), 100 * SECOND);
    expect(state).toMatchObject({ paced: 100, tripped: 0 });
    const back = restore(slow, takeSnapshot(state), 0, 0).state;
    expect(run(back, [at(SECOND)], SECOND).state).toMatchObject({ paced: 100, tripped: 1 });
  });
});

test("of the guard no more is used up than the one at the restart can hold", () => {
  const slow = valid({ guardBudgetStrokes: 2, guardPeriodMicros: 86_400 * SECOND });
  const quick = valid({ guardBudgetStrokes: 2, guardPeriodMicros: 60 * SECOND });
  const used = run(slow, contacts(2), 3 * SECOND).state;
  expect(restore(quick, takeSnapshot(used), 0, 0).state.guardFullMicros).toBe(60 * SECOND + 1);
});

test("the largest guard there is is carried exactly", () => {
  const largest = valid({
    ...TERMS,
    guardBudgetStrokes: 1,
    guardPeriodMicros: 86_400 * SECOND,
    guardBurstStrokes: 65_535,
  });
  const used = { ...OWING, settings: largest, guardFullMicros: OWING.nowMicros + 65_535 * 86_400 * SECOND };
  expect(restore(largest, takeSnapshot(used), 0, 0).state.guardFullMicros).toBe(65_535 * 86_400 * SECOND);
});

describe("modes", () => {
  const longPrime: Input[] = [at(SECOND, "prime-on"), at(200 * SECOND, "wake")];
  const stops: Input[] = [
    at(SECOND, "hold-on"),
    { kind: "inhibit-on", atMicros: SECOND, cause: "flow" },
    { kind: "inhibit-on", atMicros: SECOND, cause: "other" },
  ];

  test("hold and inhibits are as they were, with their alarms", () => {
    const { state } = restore(
      SETTINGS,
      takeSnapshot(run(SETTINGS, [at(SECOND - 1), ...stops], SECOND).state),
      0,
    );
    const inhibits = (1 << INHIBIT_CAUSES.indexOf("flow")) | (1 << INHIBIT_CAUSES.indexOf("other"));
    expect(state).toMatchObject({ held: 1, inhibits, alarms: 32, shedHold: 2 });
  });

  test("a trip still stands and only a reset ends it", () => {
    const guarded = valid({ cadence: "prompt", guardBudgetStrokes: 1 });
    const { state } = restore(guarded, takeSnapshot(run(guarded, contacts(2), 2 * SECOND).state), 0);
    expect(state).toMatchObject({ tripped: 1, alarms: 128 });
    expect(run(state, [at(5 * SECOND, "reset")], 5 * SECOND).state).toMatchObject({ tripped: 0, alarms: 0 });
  });

  test("the prime override must be pressed anew, and its alarm ends", () => {
    const { state, effects } = restore(
      SETTINGS,
      takeSnapshot(run(SETTINGS, longPrime, 200 * SECOND).state),
      70,
    );
    expect(state).toMatchObject({ priming: 0, primePressed: 0, alarms: 0 });
    expect(effects).toEqual([{ kind: "alarm-off", atMicros: 70, alarm: "prime-too-long" }]);
    expect(run(state, [at(80 * SECOND, "prime-on")], 80 * SECOND).state.priming).toBe(1);
  });

  test("silence is listened for anew, from the restart", () => {
    const listening = valid({ silentMicros: 10 * SECOND });
    const { wakeAtMicros } = restore(listening, takeSnapshot(run(listening, [], 9 * SECOND).state), 500, 0);
    expect(wakeAtMicros).toBe(500 + 10 * SECOND);
  });

  test("a contact that was closing must stay closed anew", () => {
    const closing = run(SETTINGS, [at(SECOND, "close"), at(SECOND + 5_000, "wake")], SECOND + 5_000).state;
    const { state } = restore(SETTINGS, takeSnapshot(closing), 100, 0);
    expect(run(state, [], 10_099).state.counted).toBe(0);
    expect(run(state, [], 10_100).state.counted).toBe(1);
  });

  test("and where it needs no time to, it counts at the restart", () => {
    const closing = run(SETTINGS, [at(SECOND, "close"), at(SECOND + 5_000, "wake")], SECOND + 5_000).state;
    const { state, wakeAtMicros } = restore(valid({ closedMicros: 0 }), takeSnapshot(closing), 100, 0);
    expect(state).toMatchObject({ counted: 1, owed: 1, contactMicros: 100 });
    expect(wakeAtMicros).toBeGreaterThan(100);
  });

  test("a contact soon after the restart is judged by the age of the last one", () => {
    const slow = valid({ leastContactMicros: 10 * SECOND });
    const bytes = takeSnapshot(run(slow, [at(SECOND), at(3 * SECOND, "wake")], 3 * SECOND).state);
    const next = (dark: number, atMicros: number) =>
      run(restore(slow, bytes, 0, dark).state, [at(atMicros)], atMicros);
    expect(next(5 * SECOND, 3 * SECOND - 1).state.rejected).toBe(1);
    expect(next(5 * SECOND, 3 * SECOND).state.rejected).toBe(0);
    expect(next(DARK_UNKNOWN, 0).state.rejected).toBe(0);
  });
});

describe("at any moment of any run (law 12)", () => {
  const input = fc.record({
    gapMicros: fc.oneof(fc.nat(2_000), fc.nat(3 * SECOND)),
    kind: fc.constantFrom(
      "contact",
      "contact",
      "contact",
      "close",
      "open",
      "wake",
      "hold-on",
      "hold-off",
      "reset",
    ),
    inhibit: fc.constantFrom(undefined, undefined, undefined, ...INHIBIT_CAUSES),
    on: fc.boolean(),
  });
  const settings = fc.record({
    strokes: fc.integer({ min: 1, max: 9 }),
    contacts: fc.integer({ min: 1, max: 9 }),
    cadence: fc.constantFrom("spread", "prompt"),
    graceMicros: fc.integer({ min: 90_000, max: 4 * SECOND }),
    guardBudgetStrokes: fc.constantFrom(0, 7),
    guardBurstStrokes: fc.constant(30),
    leastContactMicros: fc.constantFrom(0, 50_000),
  });
  const history = fc.array(input, { maxLength: 60 });

  function inputsOf(
    steps: readonly { gapMicros: number; kind: Parameters<typeof at>[1]; inhibit?: unknown; on: boolean }[],
  ) {
    let atMicros = 0;
    return steps.map(({ gapMicros, kind, inhibit, on }): Input => {
      atMicros += gapMicros;
      if (inhibit === undefined) return at(atMicros, kind);
      const cause = inhibit as (typeof INHIBIT_CAUSES)[number];
      return { kind: on ? "inhibit-on" : "inhibit-off", atMicros, cause };
    });
  }

  test("a snapshot taken and restored at once, taken again, is the same snapshot", () => {
    fc.assert(
      fc.property(settings, history, (terms, steps) => {
        const sound = valid({ ...terms, stuckMicros: 0 });
        const { state } = run(sound, inputsOf(steps), 0);
        const bytes = takeSnapshot(state);
        const back = restore(sound, bytes, 77, 0);
        expect(back.effects).toEqual([]);
        expect(readFields(takeSnapshot(back.state))).toEqual(readFields(bytes));
      }),
    );
  });

  test("what comes after earns, ignores and rejects just as without the cut, and the accounts balance", () => {
    fc.assert(
      fc.property(settings, history, fc.array(fc.nat(SECOND), { maxLength: 30 }), (terms, steps, gaps) => {
        const sound = valid({ ...terms, stuckMicros: 0, guardBudgetStrokes: 0 });
        const before = run(sound, inputsOf(steps), 0).state;
        const settled = run(before, [at(before.nowMicros, "open")], before.nowMicros).state;
        const back = restore(sound, takeSnapshot(settled), settled.nowMicros, 0).state;
        let atMicros = settled.nowMicros;
        const later = gaps.map((gap) => at((atMicros += gap)));
        const uncut = run(settled, later, atMicros + 10 * SECOND).state;
        const cut = run(back, later, atMicros + 10 * SECOND).state;
        for (const name of [
          "counted",
          "ignored",
          "rejected",
          "earned",
          "remainder",
          "held",
          "inhibits",
        ] as const) {
          expect([name, cut[name]]).toEqual([name, uncut[name]]);
        }
        const shed =
          cut.shedLimit + cut.shedStill + cut.shedHold + cut.shedInhibit + cut.shedTrip + cut.shedPower;
        expect(cut.paced + cut.owed + shed).toBe(cut.earned);
      }),
    );
  });
});
