/**
 * What is a device? Whatever turns a stimulus into a trace. Harness layer: the seam that every device stands behind.
 */
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";

/** One run of a device, in virtual time. */
export interface Run {
  /** Hands over the next event of the stimulus; times never decrease. */
  readonly give: (event: StimulusEvent) => void;
  /** Lets time go on to `untilMicros` with no more input. */
  readonly end: (untilMicros: Micros) => void;
}

/** How a run in virtual time is driven. */
export interface RunOptions {
  /** The moment of the start; default 0. */
  readonly startMicros?: Micros;
  /** How late the wake-up that was asked for at a time comes; default not at all. */
  readonly lateness?: (askedMicros: Micros) => Micros;
}

/** Starts a run of a device. */
export type StartRun = (settings: Settings, sink: TraceSink, options?: RunOptions) => Run;

/** Is told every event of the trace, in order: each input, and what came of it. */
export type TraceSink = (event: TraceEvent) => void;
