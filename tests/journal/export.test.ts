/**
 * Is a journal surveyed as far as it can be read, and held against its own accounts?
 */
import { copyFileSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, test } from "vitest";
import { replayableOrder } from "../../harness/journal/export-trace.js";
import { surveyJournal } from "../../harness/journal/export.js";
import { JournalError } from "../../harness/journal/fault.js";
import {
  type JournalEvent,
  type JournalReading,
  type JournalRun,
  readJournal,
  type Tallies,
} from "../../harness/journal/reading.js";
import { HEAD_FILE } from "../../harness/journal/schema.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { startFeed } from "./export-kit.js";

const NOON = Date.UTC(2026, 10, 26, 12);
const DAY_MS = 86_400_000;
const RUN: JournalRun = {
  run: 1,
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
};
const TALLIES: Tallies = {
  counted: 2,
  ignored: 0,
  rejected: 0,
  bounces: 0,
  earned: 0,
  owed: 0,
  remainder: 0,
  paced: 0,
  primed: 0,
  shed: { limit: 0, still: 0, hold: 0, inhibit: 0, trip: 0, power: 0 },
  uncertain: 0,
};
const onDay = (day: number): JournalEvent => ({
  run: 1,
  wallMs: NOON + day * DAY_MS,
  event: { kind: "counted", atMicros: 0, contacts: 1, earned: 0 },
});
const DAMAGE = new JournalError({ kind: "damaged", message: "J: damaged", mend: "keep it" });
/** The rows, and then what is thrown, if anything. */
function* rows<Row>(given: readonly Row[], thrown?: Error): IterableIterator<Row> {
  yield* given;
  if (thrown !== undefined) throw thrown;
}
function readingOf(parts: Partial<JournalReading>): JournalReading {
  return {
    tallies: () => TALLIES,
    runs: () => [RUN],
    events: () => rows([onDay(0), onDay(1)]),
    strokes: () => rows([]),
    notes: () => rows([]),
    checkTail: () => undefined,
    close: () => undefined,
    ...parts,
  };
}
const raise = (): never => {
  throw DAMAGE;
};

test("a sound journal has no troubles and whole days", () => {
  const { troubles, days, total } = surveyJournal(readingOf({}));
  expect([troubles, days.map(({ isWhole }) => isWhole), total?.contacts]).toEqual([[], [true, true], 2]);
});

test.each([
  ["events, after the second day", { events: () => rows([onDay(0), onDay(1)], DAMAGE) }, [true, false]],
  ["events, from the first on", { events: () => rows<JournalEvent>([], DAMAGE) }, [false]],
  ["strokes", { strokes: () => rows([], DAMAGE) }, [false, false]],
  ["notes", { notes: () => rows([], DAMAGE) }, [false, false]],
  ["accounts", { tallies: raise }, [true, true]],
  ["starts", { runs: raise }, [true, true]],
] as const)("damage is told once and marks the days that may lack something: %s", (_, parts, whole) => {
  const { troubles, days } = surveyJournal(readingOf(parts));
  expect(troubles).toEqual(["J: damaged. Mend: keep it."]);
  expect(days.map(({ isWhole }) => isWhole)).toEqual(whole);
});

test("events that do not come to what the feed counted are told, each with both figures", () => {
  const { troubles } = surveyJournal(readingOf({ tallies: () => ({ ...TALLIES, counted: 3, primed: 1 }) }));
  expect(troubles).toEqual([
    "the events tell of 2 contacts, the accounts of 3",
    "the events tell of 0 primed strokes, the accounts of 1",
  ]);
});

test("a feed that goes on while it is read is not held against its accounts", () => {
  let counted = 2;
  const tallies = (): Tallies => ({ ...TALLIES, counted: (counted += 1) });
  expect(surveyJournal(readingOf({ tallies })).troubles).toEqual([]);
});

test("another fault than the journal's is not taken for damage", () => {
  const events = () => rows<JournalEvent>([], new TypeError("a mistake"));
  expect(() => surveyJournal(readingOf({ events }))).toThrow(TypeError);
});

test.each([
  ["is not JSON", "no plan"],
  ["lacks what a plan needs", '{ "cap": 120 }'],
])("a kept plan that %s leaves water and dose open", (_, plan) => {
  const { unplanned, total } = surveyJournal(readingOf({ runs: () => [{ ...RUN, plan }] }));
  expect([unplanned, total?.feed]).toEqual([[1], undefined]);
});

test("sinks are told each start before its events, and notes at the end", () => {
  const told: string[] = [];
  const note = { run: 1, atMicros: 0, wallMs: NOON, kind: "suspended", words: "" };
  const runs = [RUN, { ...RUN, run: 2 }];
  const events = [onDay(0), { ...onDay(1), run: 2 }];
  surveyJournal(
    readingOf({ runs: () => runs, events: () => rows(events), notes: () => rows([note]) }),
    undefined,
    [
      {
        run: ({ run }) => told.push(`start ${run}`),
        event: ({ run }) => told.push(`event of ${run}`),
        note: ({ kind }) => told.push(kind),
      },
    ],
  );
  expect(told).toEqual(["start 1", "event of 1", "start 2", "event of 2", "suspended"]);
});

test("in a trace the power goes after the step that it shares a microsecond with, and nothing goes back in time", () => {
  const at = (atMicros: number, kind: "contact" | "power-off"): TraceEvent => ({ kind, atMicros });
  const on: TraceEvent = { kind: "power-on", atMicros: 7, darkKnown: false };
  const timed = (events: readonly TraceEvent[]): number[] => {
    const replayable = replayableOrder();
    return events.map((event) => replayable(event).atMicros);
  };
  expect(
    timed([at(5, "contact"), at(7, "contact"), at(7, "power-off"), on, at(7, "contact"), at(9, "contact")]),
  ).toEqual([5, 7, 8, 8, 8, 9]);
  expect(timed([at(5, "contact"), at(7, "power-off"), on])).toEqual([5, 7, 7]);
});

test.each([
  ["is as far as it", () => undefined, []],
  [
    "is gone",
    (head: string) => {
      rmSync(head);
    },
    [/nobody can say whether the journal is whole/],
  ],
  [
    "tells of more",
    (head: string, further: string) => {
      copyFileSync(further, head);
    },
    [/the journal lost its last 3 steps \(3 contacts, 0 strokes\)/],
  ],
])("a journal whose witness %s is told for what it is", (_, harm, told) => {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-witness-"));
  const [at, further] = [join(folder, "J"), join(folder, "further")];
  for (const [journal, contacts] of [
    [at, 2],
    [further, 5],
  ] as const) {
    const feed = startFeed(journal, { wallMs: NOON });
    for (let contact = 1; contact <= contacts; contact += 1) feed.give(contact / 1_000, "contact");
    feed.kill();
  }
  harm(join(at, HEAD_FILE), join(further, HEAD_FILE));
  const reading = readJournal(at);
  const { troubles, total } = surveyJournal(reading);
  reading.close();
  rmSync(folder, { recursive: true });
  expect(total?.contacts).toBe(2);
  expect(troubles).toEqual(told.map((words) => expect.stringMatching(words) as string));
});
