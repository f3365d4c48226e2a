/**
 * Is what a step did told completely, and in the documented order?
 */
import { describe, expect, test } from "vitest";
import {
  ALARMS,
  copyState,
  effectsBetween,
  newState,
  SECOND,
  shedBy,
  SHED_CAUSES,
  standingAlarms,
  type State,
} from "../../lib/pacing/index.js";
import { at, contacts, run, valid } from "./kit.js";

const BEFORE: Readonly<State> = Object.freeze({
  ...newState(valid()),
  nowMicros: 40,
  raised: 1,
  cleared: 2,
  alarms: 2,
});

function after(over: Partial<State>): State {
  return { ...copyState(BEFORE), nowMicros: 50, raised: 0, cleared: 0, ...over };
}

test("nothing that changed is no effect, and always the same empty list", () => {
  expect(effectsBetween(BEFORE, after({}))).toEqual([]);
  expect(effectsBetween(BEFORE, after({}))).toBe(effectsBetween(BEFORE, after({ owed: 3, remainder: 1 })));
});

test("all that one step can do is told in one order, each with its own number", () => {
  const full = after({
    counted: 2,
    earned: 5,
    ignored: 3,
    rejected: 4,
    shedLimit: 11,
    shedStill: 12,
    shedHold: 13,
    shedInhibit: 14,
    shedTrip: 15,
    shedPower: 16,
    paced: 1,
    primed: 1,
    refused: 1,
    alarms: 0b101,
    raised: 0b101,
    cleared: 0b10,
  });
  const atMicros = 50;
  expect(effectsBetween(BEFORE, full)).toEqual([
    { kind: "counted", atMicros, contacts: 2, earned: 5 },
    { kind: "ignored", atMicros, contacts: 3 },
    { kind: "rejected", atMicros, contacts: 4 },
    { kind: "shed", atMicros, cause: "limit", strokes: 11 },
    { kind: "shed", atMicros, cause: "still", strokes: 12 },
    { kind: "shed", atMicros, cause: "hold", strokes: 13 },
    { kind: "shed", atMicros, cause: "inhibit", strokes: 14 },
    { kind: "shed", atMicros, cause: "trip", strokes: 15 },
    { kind: "shed", atMicros, cause: "power", strokes: 16 },
    { kind: "paced", atMicros },
    { kind: "primed", atMicros },
    { kind: "refused", atMicros },
    { kind: "alarm-on", atMicros, alarm: "stuck" },
    { kind: "alarm-off", atMicros, alarm: "silent" },
    { kind: "alarm-on", atMicros, alarm: "too-fast" },
  ]);
});

test("what stood before is taken off what stands after", () => {
  const before = after({
    counted: 7,
    earned: 9,
    ignored: 7,
    rejected: 7,
    shedPower: 7,
    paced: 7,
    primed: 7,
    refused: 7,
  });
  expect(effectsBetween(before, before)).toEqual([]);
  const next = { ...before, counted: 8, earned: 12, shedPower: 9, nowMicros: 60 };
  expect(effectsBetween(before, next)).toEqual([
    { kind: "counted", atMicros: 60, contacts: 1, earned: 3 },
    { kind: "shed", atMicros: 60, cause: "power", strokes: 2 },
  ]);
});

describe("an alarm that went on and off within one step", () => {
  test.each([
    { title: "stood and stands: off, then on", stood: 4, alarms: 4, kinds: ["alarm-off", "alarm-on"] },
    { title: "did not stand, but does: on", stood: 0, alarms: 4, kinds: ["alarm-on"] },
    { title: "stood, but does not: off", stood: 4, alarms: 0, kinds: ["alarm-off"] },
    { title: "did and does not: on, then off", stood: 0, alarms: 0, kinds: ["alarm-on", "alarm-off"] },
  ])("$title", ({ stood, alarms, kinds }) => {
    const before = { ...BEFORE, alarms: stood };
    const effects = effectsBetween(before, after({ alarms, raised: 4, cleared: 4 }));
    expect(effects).toEqual(kinds.map((kind) => ({ kind, atMicros: 50, alarm: "too-fast" })));
  });

  test("is told alone where another alarm stands", () => {
    const effects = effectsBetween(BEFORE, after({ alarms: 2, raised: 4, cleared: 4 }));
    expect(effects.map(({ kind }) => kind)).toEqual(["alarm-on", "alarm-off"]);
  });
});

test.each(ALARMS.map((alarm, i) => ({ alarm, bit: 1 << i })))(
  "bit $bit is the alarm $alarm",
  ({ alarm, bit }) => {
    const quiet = { ...BEFORE, alarms: 0 };
    expect(effectsBetween(quiet, after({ alarms: bit, raised: bit }))).toEqual([
      { kind: "alarm-on", atMicros: 50, alarm },
    ]);
    const standing = { ...BEFORE, alarms: bit };
    expect(effectsBetween(standing, after({ alarms: 0, cleared: bit }))).toEqual([
      { kind: "alarm-off", atMicros: 50, alarm },
    ]);
    expect(standingAlarms(after({ alarms: bit }))).toEqual([alarm]);
  },
);

test("standing alarms are named in their order, and none is none", () => {
  expect(standingAlarms(after({ alarms: 0 }))).toEqual([]);
  expect(standingAlarms(after({ alarms: 2047 }))).toEqual([...ALARMS]);
});

test("strokes shed are read by their cause", () => {
  const s = after({ shedLimit: 1, shedStill: 2, shedHold: 3, shedInhibit: 4, shedTrip: 5, shedPower: 6 });
  expect(SHED_CAUSES.map((cause) => [cause, shedBy(s, cause)])).toEqual([
    ["limit", 1],
    ["still", 2],
    ["hold", 3],
    ["inhibit", 4],
    ["trip", 5],
    ["power", 6],
  ]);
});

test("a contact that earns no whole stroke is still told, with 0 earned", () => {
  const { effects } = run(valid({ contacts: 3 }), contacts(3), 3 * SECOND);
  expect(effects.filter(({ kind }) => kind === "counted")).toEqual([
    { kind: "counted", atMicros: SECOND, contacts: 1, earned: 0 },
    { kind: "counted", atMicros: 2 * SECOND, contacts: 1, earned: 0 },
    { kind: "counted", atMicros: 3 * SECOND, contacts: 1, earned: 1 },
  ]);
});

test("the effects of a real step bear its time and follow the same order", () => {
  const settings = valid({ strokes: 3, owedLimitStrokes: 3, cadence: "prompt", leastSpacingMicros: 1_000 });
  const { effects } = run(settings, [at(100), at(200)], 200);
  expect(effects).toEqual([
    { kind: "counted", atMicros: 100, contacts: 1, earned: 3 },
    { kind: "paced", atMicros: 100 },
    { kind: "counted", atMicros: 200, contacts: 1, earned: 3 },
    { kind: "shed", atMicros: 200, cause: "limit", strokes: 2 },
    { kind: "alarm-on", atMicros: 200, alarm: "owed-limit" },
  ]);
});
