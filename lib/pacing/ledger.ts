/**
 * What is a contact worth, and what becomes of strokes that cannot be made? The accounts of the pacer.
 *
 * Pacing layer. Invariant, after every function here: earned = paced + owed + every shed cause. The remainder is
 * the part of a stroke that is paid for but not whole; it is carried exactly, and nothing but a change of settings
 * ever rounds it (down).
 */
import { planStrokes } from "./cadence.js";
import type { Micros } from "./limits.js";
import {
  clear,
  OWED_LIMIT,
  raise,
  SHED_AT_RESTART,
  SHED_IN_HOLD,
  SHED_IN_INHIBIT,
  SILENT,
  type State,
  STILL_WATER,
  TOO_FAST,
} from "./state.js";

/** One closure that qualified, or one contact that was qualified elsewhere. */
export function takeContact(s: State, atMicros: Micros): void {
  const intervalMicros = atMicros - s.contactMicros;
  if (intervalMicros < s.settings.leastContactMicros) {
    s.rejected += 1;
    raise(s, TOO_FAST);
    return;
  }
  s.contactMicros = atMicros;
  s.intervalMicros = s.settings.graceMicros;
  if (intervalMicros < s.intervalMicros) s.intervalMicros = intervalMicros;
  s.listenMicros = atMicros;
  clear(s, SILENT | TOO_FAST | STILL_WATER | SHED_AT_RESTART);
  if (s.held || (s.priming && s.settings.contactsDuringPrime === "ignore")) {
    s.ignored += 1;
    return;
  }
  s.counted += 1;
  earn(s, atMicros);
}

function earn(s: State, atMicros: Micros): void {
  const { strokes, contacts } = s.settings;
  const paid = s.remainder + strokes;
  s.remainder = paid % contacts;
  const earned = (paid - s.remainder) / contacts;
  if (earned === 0) return;
  s.earned += earned;
  s.owed += earned;
  if (s.tripped) shedForTrip(s);
  else if (s.inhibits) shedForInhibit(s);
  else {
    shedBeyondLimit(s);
    planStrokes(s, atMicros);
  }
}

/** One owed stroke is being made. */
export function payStroke(s: State): void {
  s.owed -= 1;
  s.paced += 1;
  if (s.owed === 0) clear(s, OWED_LIMIT);
}

export function shedBeyondLimit(s: State): void {
  const excess = s.owed - s.settings.owedLimitStrokes;
  if (excess <= 0) return;
  s.owed -= excess;
  s.shedLimit += excess;
  raise(s, OWED_LIMIT);
}

export function shedForStillWater(s: State): void {
  s.shedStill += giveUp(s, STILL_WATER);
}

export function shedForHold(s: State): void {
  s.shedHold += giveUp(s, SHED_IN_HOLD);
}

export function shedForInhibit(s: State): void {
  s.shedInhibit += giveUp(s, SHED_IN_INHIBIT);
}

/** The trip itself is the alarm. */
export function shedForTrip(s: State): void {
  s.shedTrip += giveUp(s, 0);
}

export function shedForPower(s: State): void {
  s.shedPower += giveUp(s, SHED_AT_RESTART);
}

function giveUp(s: State, alarm: number): number {
  const strokes = s.owed;
  s.owed = 0;
  if (strokes > 0) raise(s, alarm);
  clear(s, OWED_LIMIT);
  return strokes;
}
