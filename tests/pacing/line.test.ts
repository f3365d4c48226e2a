/**
 * Which closures of the meter's contact count, to the microsecond?
 */
import { describe, expect, test } from "vitest";
import { type Input, newState, SECOND, step } from "../../lib/pacing/index.js";
import { at, run, valid } from "./kit.js";

const SETTINGS = valid({ closedMicros: 100, openMicros: 70, leastSpacingMicros: 1 });

/** Edges by turns, the first closing; each after the gap named. */
function edges(...gaps: number[]): Input[] {
  let t = 0;
  return gaps.map((gap, i) => at((t += gap), i % 2 === 0 ? "close" : "open"));
}

function outcome(inputs: readonly Input[], settings = SETTINGS): { counted: number; bounces: number } {
  const { counted, bounces } = run(settings, inputs, 10 * SECOND).state;
  return { counted, bounces };
}

test.each([
  { title: "closed to the end", gaps: [1_000], counted: 1, bounces: 0 },
  { title: "closed for exactly the time, then open", gaps: [1_000, 100], counted: 1, bounces: 0 },
  { title: "closed for 1 µs less", gaps: [1_000, 99], counted: 0, bounces: 1 },
  { title: "closed for 1 µs more", gaps: [1_000, 101], counted: 1, bounces: 0 },
  {
    title: "counted, open for exactly the time, closed again",
    gaps: [1_000, 200, 70],
    counted: 2,
    bounces: 0,
  },
  { title: "counted, open for 1 µs less, closed again", gaps: [1_000, 200, 69], counted: 1, bounces: 1 },
  { title: "counted, open for 1 µs more, closed again", gaps: [1_000, 200, 71], counted: 2, bounces: 0 },
  {
    title: "opening bounce of many short parts, then open long enough",
    gaps: [1_000, 200, 69, 150, 69, 150, 70],
    counted: 2,
    bounces: 2,
  },
  { title: "closing bounce, then closed", gaps: [1_000, 99, 1, 99, 1], counted: 1, bounces: 2 },
  {
    title: "a short closure leaves the contact armed: it need not stay open again",
    gaps: [1_000, 50, 10],
    counted: 1,
    bounces: 1,
  },
])("$title: $counted counted, $bounces bounces", ({ gaps, counted, bounces }) => {
  expect(outcome(edges(...gaps))).toEqual({ counted, bounces });
});

test("a contact counts at the moment it has been closed long enough, not before", () => {
  const { effects } = run(SETTINGS, [at(1_000, "close")], 1_100);
  expect(effects[0]).toEqual({ kind: "counted", atMicros: 1_100, contacts: 1, earned: 1 });
  expect(run(SETTINGS, [at(1_000, "close")], 1_099).effects).toEqual([]);
});

test("the closure of an unbroken contact counts once, however long it lasts", () => {
  expect(outcome([at(1_000, "close"), at(5_000, "wake"), at(9_000, "wake")])).toEqual({
    counted: 1,
    bounces: 0,
  });
});

test("a contact that was counted late still counts at the time it qualified", () => {
  const late = step(newState(SETTINGS), at(1_000, "close")).state;
  const { state } = step(late, at(50_000, "open"));
  expect({ counted: state.counted, contactMicros: state.contactMicros }).toEqual({
    counted: 1,
    contactMicros: 1_100,
  });
});

describe("an edge that says nothing new", () => {
  test("a second close neither restarts the time nor counts", () => {
    const { effects } = run(SETTINGS, [at(1_000, "close"), at(1_050, "close")], 1_100);
    expect(effects[0]).toEqual({ kind: "counted", atMicros: 1_100, contacts: 1, earned: 1 });
    expect(outcome([at(1_000, "close"), at(1_050, "close")])).toEqual({ counted: 1, bounces: 0 });
  });

  test("a second open does not restart the time that it must stay open", () => {
    const inputs = [...edges(1_000, 200), at(1_240, "open"), at(1_270, "close")];
    expect(outcome(inputs)).toEqual({ counted: 2, bounces: 0 });
  });

  test("an open before any close is nothing", () => {
    expect(outcome([at(500, "open"), at(501, "close")])).toEqual({ counted: 1, bounces: 0 });
    expect(outcome([at(500, "open")])).toEqual({ counted: 0, bounces: 0 });
  });
});

describe("with nothing asked for", () => {
  const raw = valid({ closedMicros: 0, openMicros: 0, leastSpacingMicros: 1 });

  test("every closure counts, at once", () => {
    const { effects } = run(raw, [at(1_000, "close")], 1_000);
    expect(effects[0]).toEqual({ kind: "counted", atMicros: 1_000, contacts: 1, earned: 1 });
    expect(outcome(edges(1_000, 1, 1, 1, 1), raw)).toEqual({ counted: 3, bounces: 0 });
  });

  test("even one that opens within the same microsecond", () => {
    expect(outcome(edges(1_000, 0, 0, 0), raw)).toEqual({ counted: 2, bounces: 0 });
  });
});

describe("contacts closer than the meter can make them", () => {
  const settings = valid({ leastContactMicros: 1_000, leastSpacingMicros: 1 });

  test.each([
    { gap: 999, counted: 1, rejected: 1 },
    { gap: 1_000, counted: 2, rejected: 0 },
    { gap: 1_001, counted: 2, rejected: 0 },
  ])("$gap µs apart: $counted counted, $rejected rejected", ({ gap, counted, rejected }) => {
    const { state } = run(settings, [at(5_000), at(5_000 + gap)], SECOND);
    expect({ counted: state.counted, rejected: state.rejected }).toEqual({ counted, rejected });
  });

  test("a rejected contact does not put off the next: the time runs from the last good one", () => {
    const { state } = run(settings, [at(5_000), at(5_600), at(6_000)], SECOND);
    expect({ counted: state.counted, rejected: state.rejected }).toEqual({ counted: 2, rejected: 1 });
  });

  test("a rejected contact earns nothing, and the very first is never rejected", () => {
    const { state } = run(settings, [at(0), at(1), at(2)], SECOND);
    expect(state).toMatchObject({ counted: 1, rejected: 2, earned: 1 });
  });
});
