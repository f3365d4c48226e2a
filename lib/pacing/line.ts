/**
 * Which closures of the meter's contact are worth counting, bounce and all? Pacing layer.
 *
 * A closure counts once the line has stayed closed for `closedMicros`, if it has been open for `openMicros` at a
 * stretch since the last one that counted. What is shorter is bounce, at either end of the closure.
 */
import type { Micros } from "./limits.js";
import { clear, type State, STUCK } from "./state.js";

/** The line closes. A second `close` in a row says nothing new. */
export function closeLine(s: State, atMicros: Micros): void {
  if (s.lineClosed) return;
  if (atMicros - s.lineSinceMicros >= s.settings.openMicros) s.lineArmed = 1;
  if (!s.lineArmed) s.bounces += 1;
  s.lineClosed = 1;
  s.lineSinceMicros = atMicros;
}

/** The line opens. A second `open` in a row says nothing new. */
export function openLine(s: State, atMicros: Micros): void {
  if (!s.lineClosed) return;
  if (s.lineArmed) s.bounces += 1; // It opened before it had stayed closed long enough.
  s.lineClosed = 0;
  s.lineSinceMicros = atMicros;
  clear(s, STUCK);
}

/** Whether the present closure will count, if it lasts. */
export function isQualifying(s: State): boolean {
  return s.lineClosed !== 0 && s.lineArmed !== 0;
}

/** … and when. */
export function qualifyingMicros(s: State): Micros {
  return s.lineSinceMicros + s.settings.closedMicros;
}

/** Whether the present closure will be alarmed as stuck, if it lasts. */
export function isStuckAhead(s: State): boolean {
  return s.lineClosed !== 0 && s.settings.stuckMicros > 0 && (s.alarms & STUCK) === 0;
}

/** … and when. */
export function stuckMicros(s: State): Micros {
  return s.lineSinceMicros + s.settings.stuckMicros;
}
