/**
 * Do the days of a feed add up, whatever the wall clock does, and is what is not known left open?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { type DayRow, type FeedTerms, newDayTally } from "../../harness/journal/export-days.js";
import { labelsIn } from "../../harness/journal/export-label.js";
import type { JournalRun } from "../../harness/journal/reading.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { runs } from "../support/runs.js";

const NOON = Date.UTC(2026, 10, 26, 12);
const HOUR_MS = 3_600_000;
const TERMS: FeedTerms = {
  litresPerContact: 10,
  millilitresPerStroke: 0.2,
  gramsPerLitre: 51,
  wantedMilligramsPerLitre: 2.55,
};

function runOf(run: number, parts: Partial<JournalRun> = {}): JournalRun {
  return {
    run,
    startMicros: 0,
    startWallMs: NOON,
    zone: "UTC",
    darkMicros: undefined,
    meter: "mock",
    pump: "mock",
    settings: {},
    plan: undefined,
    version: "0.0.0",
    end: undefined,
    endWallMs: undefined,
    ...parts,
  };
}

/** Events with their labels, in one run. */
function daysOf(events: readonly (readonly [wallMs: number, event: TraceEvent])[], terms = TERMS): DayRow[] {
  const tally = newDayTally(() => terms);
  tally.seeRun(runOf(1, { startWallMs: events[0]?.[0] ?? NOON }));
  for (const [wallMs, event] of events) tally.seeEvent({ run: 1, wallMs, event });
  return tally.days();
}
const counted = (contacts: number, earned = 0): TraceEvent => ({
  kind: "counted",
  atMicros: 0,
  contacts,
  earned,
});
const paced: TraceEvent = { kind: "paced", atMicros: 0 };

test("water is every contact that was not rejected, solution every stroke, and the dose their mean", () => {
  const [day] = daysOf([
    [NOON, counted(3, 7)],
    [NOON, { kind: "ignored", atMicros: 0, contacts: 1 }],
    [NOON, { kind: "rejected", atMicros: 0, contacts: 5 }],
    [NOON, paced],
    [NOON, paced],
    [NOON, { kind: "primed", atMicros: 0 }],
    [NOON, { kind: "shed", atMicros: 0, cause: "still", strokes: 4 }],
    [NOON, { kind: "alarm-on", atMicros: 0, alarm: "still-water" }],
    [NOON, { kind: "alarm-off", atMicros: 0, alarm: "still-water" }],
  ]);
  expect(day).toMatchObject({ contacts: 3, ignored: 1, rejected: 5, earned: 7, paced: 2, primed: 1 });
  expect(day?.shed).toEqual({ limit: 0, still: 4, hold: 0, inhibit: 0, trip: 0, power: 0 });
  expect(day?.alarms).toMatchObject({ "still-water": 1, silent: 0 });
  expect(day?.feed).toEqual({
    litres: 40,
    millilitres: expect.closeTo(0.6, 12) as number,
    meanMilligramsPerLitre: expect.closeTo((0.6 * 51) / 40, 12) as number,
    wantedMilligramsPerLitre: 2.55,
  });
});

test("strokes without water have no mean dose", () => {
  expect(daysOf([[NOON, paced]])[0]?.feed?.meanMilligramsPerLitre).toBeUndefined();
});

test("midnight begins a day where the feed stands, not in UTC", () => {
  const tally = newDayTally(() => TERMS);
  tally.seeRun(runOf(1, { zone: "America/Chicago", startWallMs: NOON }));
  // 05:59:59 and 06:00:00 UTC are either side of midnight in Chicago in winter.
  for (const wallMs of [Date.UTC(2026, 10, 27, 5, 59, 59), Date.UTC(2026, 10, 27, 6)]) {
    tally.seeEvent({ run: 1, wallMs, event: counted(1) });
  }
  expect(
    tally.days().map(({ first, last, contacts }) => [first.date, first.time, last.time, contacts]),
  ).toEqual([
    ["2026-11-26", "06:00:00", "23:59:59", 1],
    ["2026-11-27", "00:00:00", "00:00:00", 1],
  ]);
});

test.each([
  [
    "spring, when it loses an hour",
    Date.UTC(2026, 2, 8, 7, 30),
    "2026-03-08 01:30:00",
    "2026-03-08 03:30:00",
  ],
  [
    "autumn, when it has one twice",
    Date.UTC(2026, 10, 1, 6, 30),
    "2026-11-01 01:30:00",
    "2026-11-01 01:30:00",
  ],
])("a label follows summer time: %s", (_, wallMs, before, after) => {
  const label = labelsIn("America/Chicago");
  const text = (ms: number): string => `${label(ms).date} ${label(ms).time}`;
  expect([text(wallMs), text(wallMs + HOUR_MS)]).toEqual([before, after]);
});

test.each([
  ["before 1970", -1, "1969-12-31 23:59:59"],
  ["at midnight", Date.UTC(2026, 10, 26), "2026-11-26 00:00:00"],
  ["in a zone that is not known here", Date.UTC(2026, 10, 26), "2026-11-26 00:00:00", "Mars/Olympus"],
])("a label %s is told", (_, wallMs, expected, zone = "UTC") => {
  const { date, time } = labelsIn(zone)(wallMs);
  expect(`${date} ${time}`).toBe(expected);
});

test("a clock that is set back over midnight makes no second row of a date", () => {
  const midnight = Date.UTC(2026, 10, 27);
  const days = daysOf([
    [midnight - 1_000, counted(1)],
    [midnight + 1_000, counted(2)],
    [midnight - 2_000, counted(4)],
    [midnight + 2_000, counted(8)],
  ]);
  expect(days.map(({ first, contacts }) => [first.date, contacts])).toEqual([
    ["2026-11-26", 5],
    ["2026-11-27", 10],
  ]);
});

test("whatever the clock does, the days add up to the total and no date stands twice", () => {
  const moments = fc.array(fc.tuple(fc.integer({ min: -9e9, max: 9e9 }), fc.integer({ min: 1, max: 9 })), {
    minLength: 1,
    maxLength: 60,
  });
  fc.assert(
    fc.property(moments, (given) => {
      const tally = newDayTally(() => TERMS);
      tally.seeRun(runOf(1));
      for (const [stepMs, contacts] of given) {
        tally.seeEvent({ run: 1, wallMs: NOON + stepMs, event: counted(contacts, contacts) });
        tally.seeEvent({ run: 1, wallMs: NOON + stepMs, event: paced });
      }
      const days = tally.days();
      const dates = days.map(({ first }) => first.date);
      const sum = (of: (day: DayRow) => number): number => days.reduce((all, day) => all + of(day), 0);
      expect(dates).toEqual([...new Set(dates)].sort());
      expect([sum(({ contacts }) => contacts), sum((day) => day.paced)]).toEqual([
        tally.total()?.contacts,
        given.length,
      ]);
      expect(sum(({ feed }) => feed?.litres ?? NaN)).toBeCloseTo(tally.total()?.feed?.litres ?? 0, 6);
    }),
    { numRuns: runs(200) },
  );
});

test("a day on which nothing happened has a row of its own while the feed ran, and none after a clock was set by years", () => {
  const tally = newDayTally(() => TERMS);
  // From half an hour before midnight, over the night that loses an hour.
  tally.seeRun(runOf(1, { zone: "America/Chicago", startWallMs: Date.UTC(2026, 2, 7, 5, 30) }));
  for (const wallMs of [Date.UTC(2026, 2, 10, 12), Date.UTC(2036, 2, 10, 12)]) {
    tally.seeEvent({ run: 1, wallMs, event: counted(1) });
  }
  expect(tally.days().map(({ first, contacts, feed }) => [first.date, contacts, feed?.litres])).toEqual([
    ["2026-03-06", 0, 0],
    ["2026-03-07", 0, 0],
    ["2026-03-08", 0, 0],
    ["2026-03-09", 0, 0],
    ["2026-03-10", 1, 10],
    ["2036-03-10", 1, 10],
  ]);
});

test("starts after the first are restarts, and their dark is known or not", () => {
  const tally = newDayTally(() => TERMS);
  tally.seeRun(runOf(1));
  tally.seeRun(runOf(2, { darkMicros: 5_000_000 }));
  tally.seeRun(runOf(3, { startWallMs: NOON + 24 * HOUR_MS }));
  expect(
    tally.days().map(({ restarts, darkMicros, darkUnknown }) => [restarts, darkMicros, darkUnknown]),
  ).toEqual([
    [1, 5_000_000, 0],
    [1, 0, 1],
  ]);
});

test("plans go by start: each contact and stroke counts by its own, and one without leaves the day open", () => {
  const terms = new Map([
    [1, TERMS],
    [2, { ...TERMS, litresPerContact: 100, wantedMilligramsPerLitre: 1 }],
  ]);
  const tally = newDayTally((run) => terms.get(run));
  for (const run of [1, 2]) {
    tally.seeRun(runOf(run));
    tally.seeEvent({ run, wallMs: NOON, event: counted(1) });
  }
  expect(tally.total()?.feed).toMatchObject({ litres: 110, wantedMilligramsPerLitre: 1 });
  tally.seeRun(runOf(3));
  tally.seeEvent({ run: 3, wallMs: NOON + 24 * HOUR_MS, event: counted(1) });
  expect(tally.days().map(({ feed }) => feed?.litres)).toEqual([110, undefined]);
  expect(tally.total()?.feed).toBeUndefined();
});

test("strokes that may not have been made and troubles count on their day, and move no times", () => {
  const tally = newDayTally(() => TERMS);
  tally.seeRun(runOf(1));
  tally.seeEvent({ run: 1, wallMs: NOON + HOUR_MS, event: paced });
  const stroke = { run: 1, number: 1, cause: "paced", atMicros: 0, wallMs: NOON } as const;
  tally.seeStroke({ ...stroke, outcome: "uncertain" });
  tally.seeStroke({ ...stroke, outcome: "made" });
  tally.seeStroke({ ...stroke, outcome: "asked" });
  tally.seeNote({ run: 1, atMicros: 0, wallMs: NOON, kind: "suspended", words: "" });
  expect(tally.days()).toMatchObject([
    { uncertain: 1, troubles: { suspended: 1 }, last: { time: "13:00:00" } },
  ]);
});

test.each([
  ["events", [true, false, false]],
  ["after", [false, false, false]],
] as const)("a gap in what comes (%s) marks the days that it may be of", (where, whole) => {
  const tally = newDayTally(() => TERMS);
  tally.seeRun(runOf(1));
  for (const day of [0, 1]) tally.seeEvent({ run: 1, wallMs: NOON + day * 24 * HOUR_MS, event: counted(1) });
  tally.seeGap(where);
  tally.seeRun(runOf(2, { startWallMs: NOON + 48 * HOUR_MS }));
  expect([tally.days().map(({ isWhole }) => isWhole), tally.total()?.isWhole]).toEqual([whole, false]);
});
