/**
 * Rows of a trace: reading is the inverse of writing, and every fault names file, line and mend.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { ALARMS, INHIBIT_CAUSES, LAST_MICROS, SHED_CAUSES } from "../../lib/pacing/index.js";
import {
  EVENT_KINDS,
  formatFault,
  formatRow,
  isStimulus,
  readHeader,
  type RowReader,
  TRACE_HEADER,
  type TraceEvent,
} from "../../lib/trace/index.js";
import { anySettings } from "../support/arbitraries.js";

const FILE = "log.csv";
const BARE = [
  "wake",
  "close",
  "open",
  "contact",
  "prime-on",
  "prime-off",
  "hold-on",
  "hold-off",
  "reset",
  "power-off",
  "paced",
  "primed",
  "refused",
] as const;

const atMicros = fc.integer({ min: 0, max: LAST_MICROS });
const count = fc.nat({ max: Number.MAX_SAFE_INTEGER });
const word = fc.stringMatching(/^[a-z0-9.:;=_-]{1,12}$/);

const anyEvent: fc.Arbitrary<TraceEvent> = fc.oneof(
  { weight: 4, arbitrary: fc.record({ kind: fc.constantFrom(...BARE), atMicros }) },
  fc.record({
    kind: fc.constantFrom("inhibit-on", "inhibit-off"),
    atMicros,
    cause: fc.constantFrom(...INHIBIT_CAUSES),
  }),
  fc.record({
    kind: fc.constant("settings" as const),
    atMicros,
    settings: anySettings,
    confirmed: fc.boolean(),
  }),
  fc.record({ kind: fc.constant("power-on" as const), atMicros, darkKnown: fc.boolean() }),
  fc.record({ kind: fc.constant("counted" as const), atMicros, contacts: count, earned: count }),
  fc.record({ kind: fc.constantFrom("ignored", "rejected"), atMicros, contacts: count }),
  fc.record({
    kind: fc.constant("shed" as const),
    atMicros,
    cause: fc.constantFrom(...SHED_CAUSES),
    strokes: count,
  }),
  fc.record({
    kind: fc.constantFrom("alarm-on", "alarm-off"),
    atMicros,
    alarm: fc.constantFrom(...ALARMS),
  }),
  fc.record({
    kind: fc.constant("status" as const),
    atMicros,
    earned: count,
    paced: count,
    primed: count,
    owed: count,
    shed: count,
    remainder: count,
  }),
  fc
    .array(word, { minLength: 1, maxLength: 6 })
    .chain((words) =>
      fc.record({ kind: fc.constant("fault" as const), atMicros, message: fc.constant(words.join(" ")) }),
    ),
);

function rowsUnder(header: string): RowReader {
  const read = readHeader(header.split(","), 1, FILE);
  if (!read.ok) throw new Error(formatFault(read.fault));
  return read.rows;
}

test("the events of the property below are of every kind", () => {
  const kinds = new Set(fc.sample(anyEvent, { numRuns: 2_000, seed: 1 }).map(({ kind }) => kind));
  expect([...kinds].sort()).toEqual([...EVENT_KINDS].sort());
});

test("an event of any kind reads back as it was written", () => {
  fc.assert(
    fc.property(anyEvent, (event) => {
      const cells = formatRow(event).split(",");
      expect(cells).toHaveLength(3);
      expect(rowsUnder(TRACE_HEADER).read(cells, 2)).toEqual({ ok: true, event });
    }),
    { numRuns: 500 },
  );
});

test("a message of any text takes one cell of one row", () => {
  fc.assert(
    fc.property(fc.string({ unit: "grapheme" }), (message) => {
      const row = formatRow({ kind: "fault", atMicros: 0, message });
      expect(row.split(",")).toHaveLength(3);
      expect(row).not.toMatch(/[\r\n"]/);
    }),
  );
});

test("columns may stand in any order, and be left out", () => {
  const contact = { ok: true, event: { kind: "contact", atMicros: 1_500_000 } };
  const inhibit = { ok: true, event: { kind: "inhibit-on", atMicros: 1_500_000, cause: "tank" } };
  expect([
    rowsUnder("time_s").read(["1.5"], 2),
    rowsUnder("time_s,event").read(["1.5", ""], 2),
    rowsUnder("event,time_s").read(["contact", "1.5"], 2),
    rowsUnder("detail,event,time_s").read(["tank", "inhibit-on", "1.5"], 2),
  ]).toEqual([contact, contact, contact, inhibit]);
});

test("without a detail, an inhibit is for another cause and a restart knows no dark time", () => {
  const rows = rowsUnder("time_s,event");
  expect([rows.read(["1", "inhibit-on"], 2), rows.read(["1", "power-on"], 3)]).toEqual([
    { ok: true, event: { kind: "inhibit-on", atMicros: 1_000_000, cause: "other" } },
    { ok: true, event: { kind: "power-on", atMicros: 1_000_000, darkKnown: false } },
  ]);
});

test("what goes in and what comes out are told apart, kind by kind", () => {
  const stimulus = EVENT_KINDS.filter((kind) => isStimulus({ kind, atMicros: 0 } as TraceEvent));
  expect(stimulus).toEqual([
    "wake",
    "close",
    "open",
    "contact",
    "prime-on",
    "prime-off",
    "hold-on",
    "hold-off",
    "inhibit-on",
    "inhibit-off",
    "reset",
    "settings",
    "power-off",
    "power-on",
  ]);
});

test.each([
  ["no time", "event", 'no column time_s in the header "event"'],
  ["no header", "0.5", 'no column time_s in the header "0.5"'],
  ["an empty line", "", 'no column time_s in the header ""'],
  ["an unknown column", "time_s,volume", 'unknown column "volume"'],
  ["a column twice", "time_s,event,event", "a column stands twice in the header"],
  ["a name in capitals", "Time_s", 'no column time_s in the header "Time_s"'],
])("a header with %s is refused", (_, header, fault) => {
  const read = readHeader(header.split(","), 3, FILE);
  if (read.ok) throw new Error("it was read");
  expect({ ...read.fault, mend: read.fault.mend !== "" }).toEqual({ file: FILE, line: 3, fault, mend: true });
});

test.each([
  ["too few cells", "1", "1 cells under a header of 3"],
  ["too many cells", "1,contact,,", "4 cells under a header of 3"],
  ["no number", "NaN,contact,", 'time_s is "NaN"'],
  ["a negative time", "-1,contact,", 'time_s is "-1"'],
  ["an exponent", "1e30,contact,", 'time_s is "1e30"'],
  ["a time that goes back", "4.999999,contact,", "time_s goes back from 5.000000 to 4.999999"],
  ["an unknown event", "6,boom,", 'unknown event "boom"'],
  ["an event of the language itself", "6,constructor,", 'unknown event "constructor"'],
  ["a detail where none belongs", "6,contact,x", 'contact has a detail, "x"'],
  ["an unknown cause", "6,inhibit-on,moon", 'detail is "moon"'],
  ["an unknown alarm", "6,alarm-on,moon", 'detail is "moon"'],
  ["an unknown way to be dark", "6,power-on,dark", 'detail is "dark"'],
  ["a count that is none", "6,ignored,contacts=x", 'detail is "contacts=x"'],
  ["a count too many", "6,ignored,contacts=1 more=2", 'detail is "contacts=1 more=2"'],
  ["accounts that lack one", "6,status,earned=1 paced=1", 'detail is "earned=1 paced=1"'],
  ["an unknown shed cause", "6,shed,cause=moon strokes=1", 'detail is "moon"'],
  ["no shed strokes", "6,shed,cause=limit", 'detail is ""'],
  ["a setting without a value", "6,settings,strokes", '"strokes" is not a setting'],
])("a row with %s is refused at its line", (_, row, fault) => {
  const rows = rowsUnder(TRACE_HEADER);
  expect(rows.read(["5", "contact", ""], 8).ok).toBe(true);
  const read = rows.read(row.split(","), 9);
  if (read.ok) throw new Error("it was read");
  expect({ ...read.fault, mend: read.fault.mend !== "" }).toEqual({ file: FILE, line: 9, fault, mend: true });
});

test("settings in a row that could not keep the laws are refused with every fault and mend", () => {
  const read = rowsUnder(TRACE_HEADER).read(
    ["1", "settings", "strokes=0 contacts=1 leastSpacingMicros=0"],
    2,
  );
  if (read.ok) throw new Error("it was read");
  expect(formatFault(read.fault)).toBe(
    "log.csv line 2: strokes is 0; leastSpacingMicros is 0; primeSpacingMicros is 0. Mend: " +
      "strokes: give a whole number of strokes from 1 to 65535; " +
      "leastSpacingMicros: give a whole number of µs from 1 to 3600000000; " +
      "primeSpacingMicros: give a whole number of µs from 1 to 3600000000.",
  );
});

test("a refused row leaves the reader where it was", () => {
  const rows = rowsUnder("time_s,event");
  rows.read(["9", "boom"], 2);
  expect(rows.read(["1", "contact"], 3).ok).toBe(true);
});

test("a fault is one line: file, line, what, mend", () => {
  expect(formatFault({ file: "a.csv", line: 7, fault: "it is wrong", mend: "make it right" })).toBe(
    "a.csv line 7: it is wrong. Mend: make it right.",
  );
});
