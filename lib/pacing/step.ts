/**
 * What does a pacer do next? The one step: (state, input) to (state, effects, when to wake).
 *
 * Pacing layer. Total: any input in any order gives a valid state. Within a step, things act in the order of their
 * times: deadlines that have passed, then the stroke that is due, then deadlines of this very microsecond, then the
 * input, then a stroke that the input made due. At most one stroke, stamped with the time of the step. A late step
 * delays strokes and may shed them, but never brings two together and never loses one uncounted.
 */
import { isStrokeDue, planNext, setWake } from "./cadence.js";
import { changeSettings } from "./change.js";
import { meetDeadlines, setDeadline } from "./deadline.js";
import { effectsBetween, type Effect } from "./effects.js";
import { admitStroke } from "./guard.js";
import type { Input } from "./input.js";
import { payStroke, takeContact } from "./ledger.js";
import { LAST_MICROS, type Micros, wholeMicros } from "./limits.js";
import { closeLine, openLine } from "./line.js";
import {
  beginHold,
  beginInhibit,
  endHold,
  endInhibit,
  pressPrime,
  releasePrime,
  reset,
  trip,
} from "./modes.js";
import { copyState, type State } from "./state.js";

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
 * The one implementation: changes `s`, creates no object. Afterwards `s.wakeAtMicros` says when the next step is
 * needed, `s.raised` and `s.cleared` which alarms changed, and the tallies what was counted and shed.
 *
 * Times stay in the record rather than in arguments and results where a step passes them every time: engines box a
 * large number that crosses a call.
 */
export function stepInPlace(s: State, input: Input): StrokeMade {
  const nowMicros = wholeMicros(input.atMicros, s.nowMicros, LAST_MICROS);
  s.raised = 0;
  s.cleared = 0;
  let made: StrokeMade = "none";
  if (s.wakeAtMicros <= nowMicros) {
    meetDeadlines(s, nowMicros - 1);
    s.nowMicros = nowMicros;
    made = strokeIfDue(s);
    meetDeadlines(s, nowMicros);
  } else s.nowMicros = nowMicros;
  if (input.kind !== "wake") {
    act(s, input, nowMicros);
    setDeadline(s);
    // A closure that needs no time to qualify, or settings that shorten a deadline, are due at once.
    meetDeadlines(s, nowMicros);
  }
  if (made === "none") made = strokeIfDue(s);
  setWake(s);
  return made;
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

function strokeIfDue(s: State): StrokeMade {
  if (!isStrokeDue(s)) return "none";
  const made = makeStroke(s);
  setDeadline(s);
  return made;
}

function makeStroke(s: State): StrokeMade {
  const { settings } = s;
  if (settings.guardBudgetStrokes > 0 && !admitStroke(s, settings, s.nowMicros)) {
    trip(s);
    return "none";
  }
  s.strokeMicros = s.nowMicros;
  if (s.priming) {
    s.primed += 1;
    return "primed";
  }
  payStroke(s);
  planNext(s);
  return "paced";
}
