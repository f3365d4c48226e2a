/**
 * Does the judge itself reckon right? What one short trace after another changes in a fresh reckoning.
 */
import { isDeepStrictEqual } from "node:util";
import { describe, expect, test } from "vitest";
import { isStopped, newReckoning, type Reckoning } from "../../lib/laws/reckoning.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import {
  alarm,
  at,
  change,
  counted,
  cut,
  fault,
  inhibit,
  reckoned,
  settings,
  shed,
  status,
  uncounted,
} from "./kit.js";

/** What differs from a reckoning that has seen nothing. */
function changed(trace: readonly TraceEvent[]): Partial<Reckoning> {
  const fresh: object = newReckoning(settings(), 0);
  const differing = Object.entries(reckoned(trace)).filter(
    ([name, is]) => !isDeepStrictEqual(is, fresh[name as keyof typeof fresh]),
  );
  return Object.fromEntries(differing);
}

interface Row {
  readonly title: string;
  readonly trace: readonly TraceEvent[];
  readonly changed: Partial<Reckoning>;
}

const closedAt10 = { lineClosed: true, lineSinceMicros: 10, edges: 1 };
const one = { counted: 1, epochContacts: 1 };

// A closure counts after 30 µs closed, a new one after 20 µs open.
const EDGES: readonly Row[] = [
  {
    title: "a closure not yet long enough",
    trace: [...at("close", 10), ...at("wake", 39)],
    changed: closedAt10,
  },
  {
    title: "a closure just long enough",
    trace: [...at("close", 10), ...at("wake", 40)],
    changed: { ...closedAt10, ...one, contactMicros: 40, runCounted: true },
  },
  {
    title: "a closure seen late counts from when it was long enough",
    trace: [...at("close", 10), ...at("wake", 900)],
    changed: { ...closedAt10, ...one, contactMicros: 40, runCounted: true },
  },
  {
    title: "a closure that ends just then",
    trace: at("close", 10).concat(at("open", 40)),
    changed: { ...one, contactMicros: 40, runCounted: true, lineSinceMicros: 40, edges: 2 },
  },
  {
    title: "a closure that ends just before",
    trace: at("close", 10).concat(at("open", 39), at("wake", 900)),
    changed: { lineSinceMicros: 39, edges: 2, bounceMargin: 1 },
  },
  {
    title: "a second close in a row says nothing new",
    trace: [...at("close", 10, 30), ...at("wake", 40)],
    changed: { ...closedAt10, ...one, edges: 2, contactMicros: 40, runCounted: true },
  },
  { title: "an open while open says nothing new", trace: at("open", 5, 8), changed: { edges: 2 } },
  {
    title: "an opening too short belongs to the same closure",
    trace: [...at("close", 10), ...at("open", 45), ...at("close", 64), ...at("wake", 900)],
    changed: {
      ...one,
      contactMicros: 40,
      runCounted: true,
      lineClosed: true,
      lineSinceMicros: 64,
      edges: 3,
      bounceMargin: 1,
    },
  },
  {
    title: "an opening just long enough ends it",
    trace: [...at("close", 10), ...at("open", 45), ...at("close", 65), ...at("wake", 80)],
    changed: { ...one, contactMicros: 40, lineClosed: true, lineSinceMicros: 65, edges: 3 },
  },
  {
    title: "two closures are two contacts",
    trace: [...at("close", 10), ...at("open", 45), ...at("close", 65), ...at("wake", 95)],
    changed: {
      counted: 2,
      epochContacts: 2,
      contactMicros: 95,
      runCounted: true,
      lineClosed: true,
      lineSinceMicros: 65,
      edges: 3,
    },
  },
  {
    title: "once counted, a closure does not measure how soon it opens",
    trace: [...at("close", 10), ...at("wake", 40), ...at("open", 50), ...at("close", 55), ...at("open", 58)],
    changed: {
      ...one,
      contactMicros: 40,
      runCounted: true,
      lineSinceMicros: 58,
      edges: 4,
      bounceMargin: 15,
    },
  },
  {
    title: "the nearest bounce is kept",
    trace: [...at("close", 10), ...at("open", 15), ...at("close", 30), ...at("open", 40), ...at("close", 41)],
    changed: { lineClosed: true, lineSinceMicros: 41, edges: 5, bounceMargin: 5 },
  },
];

const CONTACTS: readonly Row[] = [
  { title: "a contact", trace: at("contact", 10), changed: { ...one, contactMicros: 10 } },
  {
    title: "a contact while held is ignored, but water has moved",
    trace: at("hold-on", 5).concat(at("contact", 10)),
    changed: { held: true, ignored: 1, contactMicros: 10 },
  },
  {
    title: "a contact while inhibited or tripped earns",
    trace: [inhibit("inhibit-on", 5, "tank"), alarm("alarm-on", 5, "tripped"), ...at("contact", 10)],
    changed: { ...one, contactMicros: 10, inhibits: ["tank"], tripped: true },
  },
  {
    title: "a contact while priming earns",
    trace: at("prime-on", 5).concat(at("contact", 10)),
    changed: { ...one, contactMicros: 10, pressed: true, primeSinceMicros: 5 },
  },
];

const RESPONSES: readonly Row[] = [
  { title: "paced strokes", trace: at("paced", 10, 20), changed: { paced: 2, strokeMicros: 20 } },
  { title: "primed strokes", trace: at("primed", 10, 20), changed: { primed: 2, strokeMicros: 20 } },
  { title: "sheddings", trace: [shed(10, 3), shed(20, 2)], changed: { shed: 5 } },
  { title: "a trip", trace: [alarm("alarm-on", 10, "tripped")], changed: { tripped: true } },
  {
    title: "what contacts are told to have earned",
    trace: [counted(10, 3), counted(20, 0), counted(30, 2)],
    changed: { toldEarned: 5 },
  },
  {
    title: "all else that is told",
    trace: [
      uncounted("ignored", 10),
      uncounted("rejected", 10),
      alarm("alarm-on", 10, "stuck"),
      alarm("alarm-off", 10, "stuck"),
      status(10, { earned: 9 }),
      fault(10, "no reply"),
      ...at("refused", 10),
    ],
    changed: {},
  },
];

const POWER: readonly Row[] = [
  {
    title: "nothing that happens in the dark counts, and a press ends",
    trace: [
      ...at("prime-on", 5),
      ...at("power-off", 10),
      ...at("contact", 20),
      ...at("close", 20),
      ...at("hold-on", 20),
      inhibit("inhibit-on", 20, "tank"),
      change(20, settings({ strokes: 2 })),
      ...at("prime-on", 20),
      ...at("wake", 900),
    ],
    changed: { dark: true },
  },
  {
    title: "a dark time that is known leaves the last contact known",
    trace: [...at("contact", 10), ...cut(20, 30)],
    changed: { ...one, contactMicros: 10, strokeMicros: 30, lineSinceMicros: 30 },
  },
  {
    title: "a dark time that is not known makes the last contact long ago",
    trace: [...at("contact", 10), ...cut(20, 30, false)],
    changed: { ...one, strokeMicros: 30, lineSinceMicros: 30 },
  },
  {
    title: "power that was never off",
    trace: [...at("contact", 10), { kind: "power-on", atMicros: 30, darkKnown: false }],
    changed: { ...one, contactMicros: 10 },
  },
  {
    title: "a closure in the dark counts from the restart",
    trace: [
      ...at("close", 10),
      ...at("power-off", 20),
      ...at("wake", 70),
      ...cut(75, 80),
      ...at("wake", 109),
    ],
    changed: { lineClosed: true, lineSinceMicros: 80, strokeMicros: 80, edges: 1 },
  },
  {
    title: "a closure that has counted does not count again",
    trace: [...at("close", 10), ...cut(50, 60), ...at("wake", 900)],
    changed: {
      ...one,
      contactMicros: 40,
      runCounted: true,
      lineClosed: true,
      lineSinceMicros: 60,
      strokeMicros: 60,
      edges: 1,
    },
  },
];

describe.each([
  { what: "edges", rows: EDGES },
  { what: "contacts", rows: CONTACTS },
  { what: "responses", rows: RESPONSES },
  { what: "power", rows: POWER },
])("$what", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(changed(row.trace)).toEqual(row.changed);
  });
});

test("contacts closer than a meter can make them are rejected, and do not move the time of the last", () => {
  const {
    counted: all,
    rejected,
    contactMicros,
  } = reckoned(at("contact", 10, 209, 210, 409), settings({ leastContactMicros: 200 }));
  expect({ all, rejected, contactMicros }).toEqual({ all: 2, rejected: 2, contactMicros: 210 });
});

test.each([
  { title: "up to the longest hold", trace: [...at("prime-on", 10), ...at("contact", 509)], ignored: 1 },
  { title: "not at its end", trace: [...at("prime-on", 10), ...at("contact", 510)], ignored: 0 },
  {
    title: "not after release",
    trace: [...at("prime-on", 10), ...at("prime-off", 20), ...at("contact", 30)],
    ignored: 0,
  },
  { title: "not before the press", trace: at("contact", 30), ignored: 0 },
])("where contacts are ignored while priming, they are: $title", ({ trace, ignored }) => {
  expect(reckoned(trace, settings({ contactsDuringPrime: "ignore" })).ignored).toBe(ignored);
});

test.each([
  { title: "nothing", trace: [], stopped: false },
  { title: "a hold", trace: at("hold-on", 1), stopped: true },
  { title: "an inhibit", trace: [inhibit("inhibit-on", 1, "pump")], stopped: true },
  { title: "a trip", trace: [alarm("alarm-on", 1, "tripped")], stopped: true },
  { title: "the dark", trace: at("power-off", 1), stopped: true },
])("$title stops the controller: $stopped", ({ trace, stopped }) => {
  expect(isStopped(reckoned(trace))).toBe(stopped);
});
