/**
 * What must be remembered of a run to draw it? Watches the trace go by, once, in constant memory. Harness layer.
 *
 * Counts, owed and spacing over time, the dose over the water that passed, the concentration downstream where the water
 * is known, and the worst moments exactly. Nothing here judges; it only keeps.
 */
import type { Micros, Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import { type DoseSeries, newDose } from "./dose.js";
import { type DownstreamDrawn, newDownstream, type Water } from "./downstream.js";
import { newRunKeeper, type RunKept } from "./run-keeper.js";
import { newWindows } from "./windows.js";

/** What was remembered. */
export interface Drawn extends RunKept {
  readonly dose: DoseSeries;
  readonly downstream: DownstreamDrawn | undefined;
  /** Time of the first and last event that was seen; 0 where there was none. */
  readonly firstMicros: Micros;
  readonly lastMicros: Micros;
  /** Stretches of the trace around moments, by the moment's id: `most-owed`, `least-spacing`, `first-alarm`. */
  readonly windows: ReadonlyMap<string, readonly TraceEvent[]>;
}

export interface ReportSink {
  readonly see: (event: TraceEvent) => void;
  readonly drawn: () => Drawn;
}

/** Starts remembering. `water` tells what a contact and a stroke are worth, if that is known. */
export function newReportSink(settings: Settings, water?: Water): ReportSink {
  const windows = newWindows();
  const run = newRunKeeper(windows.mark);
  const dose = newDose(settings);
  const downstream = water === undefined ? undefined : newDownstream(water);
  let firstMicros: Micros | undefined;
  let lastMicros: Micros = 0;

  return {
    see(event) {
      if (event.kind === "wake" || (event.kind === "status" && event.owed === run.owed())) return;
      firstMicros ??= event.atMicros;
      lastMicros = event.atMicros;
      windows.see(event);
      dose.see(event);
      downstream?.see(event);
      run.see(event);
    },
    drawn: () => ({
      ...run.kept(),
      dose: dose.kept(),
      downstream: downstream?.drawn(lastMicros),
      firstMicros: firstMicros ?? 0,
      lastMicros,
      windows: windows.kept(),
    }),
  };
}
