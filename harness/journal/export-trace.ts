/**
 * How does a journal stand as a trace, so that a replay does the same? Harness layer, pure.
 *
 * Within one microsecond a replay lets the power go first of all; a journal's power goes when its last step is done. So
 * the power goes a microsecond later where it would share that step's, and what follows at the same time goes with it.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";

/** Gives events back, in order, with the times that a replay needs. */
export function replayableOrder(): (event: TraceEvent) => TraceEvent {
  let lastMicros: Micros = -1;
  return (event) => {
    const isShared = event.kind === "power-off" && event.atMicros === lastMicros;
    const atMicros = Math.max(event.atMicros + (isShared ? 1 : 0), lastMicros);
    lastMicros = atMicros;
    return atMicros === event.atMicros ? event : { ...event, atMicros };
  };
}
