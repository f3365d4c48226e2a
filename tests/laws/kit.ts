/**
 * What do tests of the laws share? Traces in few words, and whole verdicts. Times are microseconds, and small.
 */
import {
  type JudgeOptions,
  judgeTrace,
  LAW_NAMES,
  type LawName,
  LAWS,
  type Verdict,
} from "../../lib/laws/index.js";
import { apply, newReckoning, type Reckoning, settle } from "../../lib/laws/reckoning.js";
import type { Alarm, InhibitCause, Settings, SettingsInput } from "../../lib/pacing/index.js";
import type { EventKind, Status, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

/** One stroke a contact, 100 µs apart at least, within 1,000 µs of still water, prime for 500 µs. */
export function settings(change: Partial<SettingsInput> = {}): Settings {
  return sound({
    strokes: 1,
    contacts: 1,
    leastSpacingMicros: 100,
    graceMicros: 1_000,
    longestPrimeMicros: 500,
    closedMicros: 30,
    openMicros: 20,
    ...change,
  });
}

type Bare = Exclude<
  EventKind,
  | "counted"
  | "ignored"
  | "rejected"
  | "shed"
  | "status"
  | "fault"
  | "settings"
  | "power-on"
  | "inhibit-on"
  | "inhibit-off"
  | "alarm-on"
  | "alarm-off"
>;

/** An event that needs nothing but a time, once for each time. */
export function at(kind: Bare, ...times: number[]): TraceEvent[] {
  return times.map((atMicros) => ({ kind, atMicros }));
}

export function counted(atMicros: number, earned: number, contacts = 1): TraceEvent {
  return { kind: "counted", atMicros, contacts, earned };
}

export function uncounted(kind: "ignored" | "rejected", atMicros: number, contacts = 1): TraceEvent {
  return { kind, atMicros, contacts };
}

export function shed(atMicros: number, strokes: number): TraceEvent {
  return { kind: "shed", atMicros, cause: "still", strokes };
}

/** The accounts told at a moment; all that is not given is 0. */
export function status(atMicros: number, given: Partial<Status> = {}): TraceEvent {
  return {
    kind: "status",
    atMicros,
    earned: 0,
    paced: 0,
    primed: 0,
    owed: 0,
    shed: 0,
    remainder: 0,
    ...given,
  };
}

export function fault(atMicros: number, message: string): TraceEvent {
  return { kind: "fault", atMicros, message };
}

export function inhibit(
  kind: "inhibit-on" | "inhibit-off",
  atMicros: number,
  cause: InhibitCause,
): TraceEvent {
  return { kind, atMicros, cause };
}

export function alarm(kind: "alarm-on" | "alarm-off", atMicros: number, name: Alarm): TraceEvent {
  return { kind, atMicros, alarm: name };
}

export function change(atMicros: number, next: Settings, confirmed = false): TraceEvent {
  return { kind: "settings", atMicros, settings: next, confirmed };
}

/** Power lost and back. */
export function cut(offMicros: number, onMicros: number, darkKnown = true): TraceEvent[] {
  return [...at("power-off", offMicros), { kind: "power-on", atMicros: onMicros, darkKnown }];
}

const UNITS: { readonly [law in LawName]: string } = {
  proportion: "strokes",
  balance: "strokes",
  cap: "µs",
  causality: "strokes",
  prime: "µs",
  silence: "strokes",
  debt: "strokes",
  "still-water": "µs",
  "wake-ups": "effects",
  "time-shift": "effects",
  lateness: "µs",
  "power-cycle": "strokes",
  bounce: "µs",
  totality: "answers",
  guard: "strokes",
};

type Found = Pick<Verdict, "margin" | "checked">;

export function holds(law: LawName, { margin, checked }: Found): Verdict {
  return { ...sayOf(law), answer: "holds", margin, checked };
}

export function broken(
  law: LawName,
  { margin, checked }: Found,
  brokenAtMicros: number,
  evidence: string,
): Verdict {
  return { ...sayOf(law), answer: "broken", margin, checked, brokenAtMicros, evidence };
}

export function cannotTell(law: LawName, { margin, checked }: Found, evidence: string): Verdict {
  return { ...sayOf(law), answer: "cannot tell", margin, checked, evidence };
}

function sayOf(law: LawName): Pick<Verdict, "law" | "number" | "statement" | "unit"> {
  return { law, number: LAW_NAMES.indexOf(law) + 1, statement: LAWS[law], unit: UNITS[law] };
}

/** All verdicts on a trace. */
export function judged(given: Settings, trace: readonly TraceEvent[], options: JudgeOptions = {}): Verdict[] {
  const judgement = judgeTrace(given, options);
  for (const event of trace) judgement.see(event);
  return judgement.verdicts();
}

/** What is found of one law on a trace. */
export function foundOf(
  law: LawName,
  given: Settings,
  trace: readonly TraceEvent[],
  options: JudgeOptions = {},
): Verdict | undefined {
  return judged(given, trace, options).find((verdict) => verdict.law === law);
}

/** One trace, and what must be found of the law on it. */
export interface Row {
  readonly title: string;
  readonly settings?: Settings;
  readonly options?: JudgeOptions;
  readonly trace: readonly TraceEvent[];
  readonly verdict: Verdict;
}

/** What is found of the law that a row is about. */
export function foundIn({
  settings: given = settings(),
  options = {},
  trace,
  verdict,
}: Row): Verdict | undefined {
  return foundOf(verdict.law, given, trace, options);
}

/** The reckoning after a trace. */
export function reckoned(trace: readonly TraceEvent[], given = settings(), startRemainder = 0): Reckoning {
  const r = newReckoning(given, startRemainder);
  for (const event of trace) {
    settle(r, event.atMicros);
    apply(r, event);
  }
  return r;
}
