/**
 * What is a device? Whatever turns a stimulus into a trace. Harness layer: the seam that every device stands behind.
 */
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";

/** One run of a device, in virtual time. */
export interface Run {
  /** Hands over the next event of the stimulus; times never decrease. */
  give(event: StimulusEvent): void;
  /** Lets time go on to `untilMicros` with no more input. */
  end(untilMicros: number): void;
}

/** Is told every event of the trace, in order: each input, and what came of it. */
export type TraceSink = (event: TraceEvent) => void;
