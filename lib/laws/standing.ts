/**
 * How does the judge stand to what it judges? What it knows, what it is told, and how exactly. Laws layer.
 */
import type { Micros } from "../pacing/index.js";
import type { EventKind } from "../trace/index.js";

export interface Standing {
  /** The remainder at the start is known, so that earnings must be exact and not only exact but for a constant. */
  readonly startKnown: boolean;
  /** How far a time stamp of the response may be off, in µs. */
  readonly toleranceMicros: Micros;
  /** Wake-ups came late on purpose, so that strokes may be shed which a punctual run would make. */
  readonly isLate: boolean;
  /** Whether the controller tells of this at all; what it never tells of has not therefore never happened. */
  readonly tells: (kind: EventKind) => boolean;
}

/** Everything is known, told and exact. */
export const EXACT: Standing = { startKnown: true, toleranceMicros: 0, isLate: false, tells: () => true };
