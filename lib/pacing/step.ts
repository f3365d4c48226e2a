/**
 * What does a pacer do next? The one step: (state, input) to (state, effects, when to wake).
 *
 * Pacing layer. Total: any input in any order gives a valid state. Within a step, things act in the order of their
 * times: deadlines that have passed, then the stroke that is due, then deadlines of this very microsecond, then the
 * input, then a stroke that the input made due. At most one stroke, stamped with the time of the step. A late step
 * delays strokes and may shed them, but never brings two together and never loses one uncounted.
 */
import { dueMicros, planNext } from "./cadence.js";
import { changeSettings } from "./change.js";
import { effectsBetween, type Effect } from "./effects.js";
import { admitStroke } from "./guard.js";
import type { Input } from "./input.js";
import { payStroke, shedForStillWater, takeContact } from "./ledger.js";
import { LAST_MICROS, type Micros, NO_WAKE } from "./limits.js";
import { closeLine, openLine, qualifyingMicros, stuckMicros } from "./line.js";
import {
  beginHold,
  beginInhibit,
  endHold,
  endInhibit,
  expirePrime,
  pressPrime,
  releasePrime,
  reset,
  trip,
} from "./modes.js";
import { copyState, raise, SILENT, type State, STUCK } from "./state.js";

/** What one pure step gives. */
export interface Stepped {
  readonly state: Readonly<State>;
  /** What happened, in order, each stamped with the time of the step. */
  readonly effects: readonly Effect[];
  /** When the next step is needed, later than this one; NO_WAKE for never. Being late delays strokes. */
  readonly wakeAtMicros: Micros;
}

/** The pure face: leaves `state` as it is and answers with the next one. */
export function step(state: Readonly<State>, input: Input): Stepped {
  const next = copyState(state);
  stepInPlace(next, input);
  return { state: next, effects: effectsBetween(state, next), wakeAtMicros: next.wakeAtMicros };
}

/** The cause of the stroke that a step in place made, or none. */
export type StrokeMade = "none" | "paced" | "primed";

/**
 * The one implementation: changes `s`, allocates nothing. Afterwards `s.wakeAtMicros` says when the next step is
 * needed, `s.raised` and `s.cleared` which alarms changed, and the tallies what was counted and shed.
 */
export function stepInPlace(s: State, input: Input): StrokeMade {
  const nowMicros = soundTime(input.atMicros, s.nowMicros);
  s.raised = 0;
  s.cleared = 0;
  if (s.deadlineMicros < nowMicros) meetDeadlines(s, nowMicros - 1);
  s.nowMicros = nowMicros;
  let made = strokeIfDue(s, nowMicros);
  if (nextDeadline(s) <= nowMicros) meetDeadlines(s, nowMicros);
  act(s, input, nowMicros);
  // A closure that needs no time to qualify, or settings that shorten a deadline, are due at once.
  if (nextDeadline(s) <= nowMicros) meetDeadlines(s, nowMicros);
  if (made === "none") made = strokeIfDue(s, nowMicros);
  s.deadlineMicros = nextDeadline(s);
  s.wakeAtMicros = earlier(s.deadlineMicros, dueMicros(s));
  return made;
}

/** Whole, not before the last step, not past the last time there is. */
function soundTime(atMicros: number, lastMicros: Micros): Micros {
  if (!(atMicros > lastMicros)) return lastMicros;
  return atMicros > LAST_MICROS ? LAST_MICROS : atMicros - (atMicros % 1);
}

function act(s: State, input: Input, atMicros: Micros): void {
  switch (input.kind) {
    case "wake":
      return;
    case "contact":
      takeContact(s, atMicros);
      return;
    case "close":
      closeLine(s, atMicros);
      return;
    case "open":
      openLine(s, atMicros);
      return;
    case "prime-on":
      pressPrime(s, atMicros);
      return;
    case "prime-off":
      releasePrime(s);
      return;
    case "hold-on":
      beginHold(s);
      return;
    case "hold-off":
      endHold(s);
      return;
    case "inhibit-on":
      beginInhibit(s, input.cause);
      return;
    case "inhibit-off":
      endInhibit(s, input.cause);
      return;
    case "reset":
      reset(s);
      return;
    case "settings":
      changeSettings(s, atMicros, input.settings, input.confirmed);
      return;
  }
}

function strokeIfDue(s: State, nowMicros: Micros): StrokeMade {
  if (dueMicros(s) > nowMicros) return "none";
  if (s.settings.guardBudgetStrokes > 0 && !admitStroke(s, s.settings, nowMicros)) {
    trip(s);
    return "none";
  }
  s.strokeMicros = nowMicros;
  if (s.priming) {
    s.primed += 1;
    s.primePlanMicros = nowMicros + s.settings.primeSpacingMicros;
    return "primed";
  }
  payStroke(s);
  planNext(s);
  return "paced";
}

/** Each kind of deadline is met at most twice in a step: a contact can set the grace and the silence anew once. */
const DEADLINES_MOST = 8;

/** Meets the deadlines up to and including `untilMicros`, earliest first. */
function meetDeadlines(s: State, untilMicros: Micros): void {
  for (let met = 0; met < DEADLINES_MOST; met++) {
    const atMicros = nextDeadline(s);
    if (atMicros > untilMicros) return;
    meet(s, atMicros);
  }
}

// Of deadlines in one microsecond, a closure qualifies last: just like a contact that comes as an input then.
function meet(s: State, atMicros: Micros): void {
  if (graceEndMicros(s) === atMicros) shedForStillWater(s);
  else if (primeEndMicros(s) === atMicros) expirePrime(s);
  else if (stuckMicros(s) === atMicros) raise(s, STUCK);
  else if (silentMicros(s) === atMicros) raise(s, SILENT);
  else {
    s.lineArmed = 0;
    takeContact(s, atMicros);
  }
}

function nextDeadline(s: State): Micros {
  const line = earlier(qualifyingMicros(s), stuckMicros(s));
  const feed = earlier(graceEndMicros(s), primeEndMicros(s));
  return earlier(earlier(line, feed), silentMicros(s));
}

function graceEndMicros(s: State): Micros {
  return s.owed > 0 ? s.contactMicros + s.settings.graceMicros : NO_WAKE;
}

function primeEndMicros(s: State): Micros {
  return s.priming ? s.primeSinceMicros + s.settings.longestPrimeMicros : NO_WAKE;
}

function silentMicros(s: State): Micros {
  const { silentMicros: patience } = s.settings;
  return patience > 0 && (s.alarms & SILENT) === 0 ? s.listenMicros + patience : NO_WAKE;
}

function earlier(a: Micros, b: Micros): Micros {
  return a < b ? a : b;
}
