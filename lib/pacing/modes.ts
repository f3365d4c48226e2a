/**
 * What do hold, inhibit, trip and prime start and end? Pacing layer.
 *
 * A stop (hold, inhibit, trip) sheds what is owed, so that nothing stale is released after, and ends the prime
 * override: it does not come back by itself when the stop ends, it has to be pressed anew.
 */
import { shedForHold, shedForInhibit, shedForTrip } from "./ledger.js";
import type { Micros } from "./limits.js";
import { INHIBIT_CAUSES, type InhibitCause } from "./input.js";
import {
  CHANGE_REFUSED,
  clear,
  PRIME_TOO_LONG,
  raise,
  SHED_IN_HOLD,
  SHED_IN_INHIBIT,
  type State,
  TRIPPED,
} from "./state.js";

export function pressPrime(s: State, atMicros: Micros): void {
  if (s.primePressed) return;
  s.primePressed = 1;
  if (isStopped(s)) return;
  s.priming = 1;
  s.primeSinceMicros = atMicros;
}

export function releasePrime(s: State): void {
  s.primePressed = 0;
  s.priming = 0;
  clear(s, PRIME_TOO_LONG);
}

/** The longest hold has passed: no more primed strokes until it is released and pressed again. */
export function expirePrime(s: State): void {
  s.priming = 0;
  raise(s, PRIME_TOO_LONG);
}

export function beginHold(s: State): void {
  s.held = 1;
  s.priming = 0;
  shedForHold(s);
}

export function endHold(s: State): void {
  s.held = 0;
  clear(s, SHED_IN_HOLD);
}

/** A cause that the core does not know, from an untyped caller, counts as `other`: an interlock is not passed over. */
export function beginInhibit(s: State, cause: InhibitCause): void {
  s.inhibits |= isKnown(cause) ? bitOf(cause) : bitOf("other");
  s.priming = 0;
  shedForInhibit(s);
}

/** A cause that the core does not know ends nothing: which interlock it was meant for is a guess. */
export function endInhibit(s: State, cause: InhibitCause): void {
  if (isKnown(cause)) s.inhibits &= ~bitOf(cause);
  if (s.inhibits === 0) clear(s, SHED_IN_INHIBIT);
}

export function trip(s: State): void {
  s.tripped = 1;
  s.priming = 0;
  raise(s, TRIPPED);
  shedForTrip(s);
}

/** The operator's acknowledgement: the only way out of a trip. The guard's budget does not refill by it. */
export function reset(s: State): void {
  s.tripped = 0;
  clear(s, TRIPPED | CHANGE_REFUSED);
}

function isStopped(s: State): boolean {
  return s.held !== 0 || s.inhibits !== 0 || s.tripped !== 0;
}

function isKnown(cause: InhibitCause): boolean {
  return INHIBIT_CAUSES.indexOf(cause) >= 0;
}

function bitOf(cause: InhibitCause): number {
  return 1 << INHIBIT_CAUSES.indexOf(cause);
}
