/**
 * May a controller give up strokes for no cause and still be said to dose in proportion? Law 1, by each cause.
 */
import { expect, test } from "vitest";
import type { JudgeOptions } from "../../lib/laws/index.js";
import type { SettingsInput, ShedCause } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { alarm, at, counted, cut, foundOf, inhibit, settings } from "./kit.js";

interface Case {
  readonly title: string;
  readonly trace: readonly TraceEvent[];
  /** Why it is broken; undefined where it is not. */
  readonly why?: string;
  readonly given?: Partial<SettingsInput>;
  readonly options?: JudgeOptions;
}

const GUARD = { guardBudgetStrokes: 1, guardBurstStrokes: 1 };
const LATE = { startRemainder: 0, toleranceMicros: 5 };

const contact = (atMicros: number): TraceEvent[] => [...at("contact", atMicros), counted(atMicros, 1)];
const shed = (atMicros: number, cause: ShedCause): TraceEvent => ({
  kind: "shed",
  atMicros,
  cause,
  strokes: 1,
});
const given = (strokes: number, cause: ShedCause, why: string): string =>
  `${strokes} earned strokes shed (${cause}), but ${why}`;

const CASES: readonly Case[] = [
  { title: "still water, at the grace", trace: [...contact(10), shed(1_010, "still")] },
  {
    title: "flow that goes on is no still water",
    trace: [...contact(10), ...contact(500), shed(1_010, "still")],
    why: given(1, "still", "the last contact was only 510 µs before"),
  },
  {
    title: "still water told late, as the water flows again",
    options: LATE,
    trace: [...contact(10), ...contact(1_012), shed(1_015, "still")],
  },
  {
    title: "still water told too late for that",
    options: LATE,
    trace: [...contact(10), ...contact(1_012), shed(1_018, "still")],
    why: given(1, "still", "the last contact was only 6 µs before"),
  },
  {
    title: "more owed than the limit",
    given: { owedLimitStrokes: 1 },
    trace: [...contact(10), ...contact(20), shed(20, "limit")],
  },
  {
    title: "just as much owed as the limit",
    given: { owedLimitStrokes: 2 },
    trace: [...contact(10), ...contact(20), shed(20, "limit")],
    why: given(1, "limit", "only 2 are owed"),
  },
  { title: "a hold", trace: [...contact(10), ...at("hold-on", 20), shed(20, "hold")] },
  {
    title: "a hold that is over",
    trace: [...contact(10), ...at("hold-on", 20), ...at("hold-off", 30), shed(31, "hold")],
    why: given(1, "hold", "it is not held"),
  },
  {
    title: "a hold that was over just now, told late",
    options: LATE,
    trace: [...contact(10), ...at("hold-on", 20), ...at("hold-off", 30), shed(35, "hold")],
  },
  { title: "an inhibit", trace: [...contact(10), inhibit("inhibit-on", 20, "tank"), shed(20, "inhibit")] },
  {
    title: "no inhibit",
    trace: [...contact(10), shed(20, "inhibit")],
    why: given(1, "inhibit", "it is not inhibited"),
  },
  {
    title: "a trip, told of after it in the same step",
    given: GUARD,
    trace: [...contact(10), shed(10, "trip"), alarm("alarm-on", 10, "tripped"), ...at("wake", 20)],
  },
  {
    title: "a trip that is never told of",
    given: GUARD,
    trace: [...contact(10), shed(10, "trip"), ...at("wake", 20)],
    why: given(1, "trip", "no trip is told of"),
  },
  {
    title: "a trip that the controller does not tell of",
    given: GUARD,
    options: { startRemainder: 0, tells: new Set(["counted", "shed"]) },
    trace: [...contact(10), shed(10, "trip"), ...at("wake", 20)],
  },
  {
    title: "a trip that is never told of, with a tolerance",
    given: GUARD,
    options: LATE,
    trace: [...contact(10), shed(10, "trip"), ...at("wake", 20)],
    why: given(1, "trip", "no trip is told of"),
  },
  {
    title: "a trip told of just after a reset, which may have come before it",
    given: GUARD,
    options: LATE,
    trace: [
      ...at("reset", 10),
      ...contact(11),
      shed(11, "trip"),
      alarm("alarm-on", 12, "tripped"),
      ...contact(30),
      shed(30, "trip"),
      ...at("wake", 40),
    ],
  },
  {
    title: "a trip that was reset just now, told late",
    given: GUARD,
    options: LATE,
    trace: [
      ...at("reset", 10),
      alarm("alarm-on", 14, "tripped"),
      ...contact(18),
      ...at("reset", 19),
      shed(22, "trip"),
      ...at("wake", 40),
    ],
  },
  {
    title: "a trip without a guard",
    trace: [...contact(10), shed(10, "trip"), alarm("alarm-on", 10, "tripped")],
    why: given(1, "trip", "there is no guard to trip"),
  },
  { title: "a restart", trace: [...contact(10), ...cut(20, 30), shed(30, "power")] },
  {
    title: "a restart before the last contact",
    trace: [...cut(2, 3), ...contact(10), shed(10, "power")],
    why: given(1, "power", "the power has not just come back"),
  },
];

test.each(CASES)("$title", ({ trace, why, given: change = {}, options = { startRemainder: 0 } }) => {
  const found = foundOf("proportion", settings(change), trace, options);
  expect([found?.answer, found?.answer === "broken" ? found.evidence : undefined]).toEqual(
    why === undefined ? ["holds", undefined] : ["broken", why],
  );
});
