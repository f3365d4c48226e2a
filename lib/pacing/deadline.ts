/**
 * What happens by itself, without an input and without a stroke? Pacing layer.
 *
 * The end of the still-water grace, the longest hold of prime, a contact stuck or silent, a closure that qualifies.
 * The earliest of them is kept in the record; whoever changes what they depend on sets it anew.
 */
import { shedForStillWater, takeContact } from "./ledger.js";
import { type Micros, NO_WAKE } from "./limits.js";
import { isQualifying, isStuckAhead, qualifyingMicros, stuckMicros } from "./line.js";
import { expirePrime } from "./modes.js";
import { raise, SILENT, type State, STUCK } from "./state.js";

/**
 * Meets the deadlines up to and including `untilMicros`, earliest first. It ends: what is met is no deadline any more,
 * and only a closure that qualifies sets others anew, once.
 */
export function meetDeadlines(s: State, untilMicros: Micros): void {
  while (s.deadlineMicros <= untilMicros) {
    meet(s, s.deadlineMicros);
    setDeadline(s);
  }
}

// Of deadlines in one microsecond, a closure qualifies last: just like a contact that comes as an input then.
function meet(s: State, atMicros: Micros): void {
  if (s.owed > 0 && graceEndMicros(s) === atMicros) shedForStillWater(s);
  else if (s.priming && primeEndMicros(s) === atMicros) expirePrime(s);
  else if (isStuckAhead(s) && stuckMicros(s) === atMicros) raise(s, STUCK);
  else if (isSilentAhead(s) && silentMicros(s) === atMicros) raise(s, SILENT);
  else if (isQualifying(s) && qualifyingMicros(s) === atMicros) {
    s.lineArmed = 0;
    takeContact(s, atMicros);
  }
}

/** Finds the earliest moment, other than a stroke, at which something changes by itself. */
export function setDeadline(s: State): void {
  s.deadlineMicros = NO_WAKE;
  if (s.owed > 0) sooner(s, graceEndMicros(s));
  if (s.priming) sooner(s, primeEndMicros(s));
  if (isQualifying(s)) sooner(s, qualifyingMicros(s));
  if (isStuckAhead(s)) sooner(s, stuckMicros(s));
  if (isSilentAhead(s)) sooner(s, silentMicros(s));
}

function sooner(s: State, atMicros: Micros): void {
  if (atMicros < s.deadlineMicros) s.deadlineMicros = atMicros;
}

function graceEndMicros(s: State): Micros {
  return s.contactMicros + s.settings.graceMicros;
}

function primeEndMicros(s: State): Micros {
  return s.primeSinceMicros + s.settings.longestPrimeMicros;
}

function isSilentAhead(s: State): boolean {
  return s.settings.silentMicros > 0 && (s.alarms & SILENT) === 0;
}

function silentMicros(s: State): Micros {
  return s.listenMicros + s.settings.silentMicros;
}
