/**
 * How does a log run through the pacer? Row by row, in constant memory, to files and a report. Harness layer.
 *
 * After the last row the run goes on until nothing can be owed or primed any more. Inputs of one instant act in the
 * documented order, however the log sorts them.
 */
import { type ModelRun, runModel } from "../devices/model.js";
import { runJudged } from "../devices/trials.js";
import { LAST_MICROS, type Settings } from "../../lib/pacing/index.js";
import {
  formatRow,
  formatSeconds,
  instantSorter,
  TRACE_HEADER,
  type TraceEvent,
} from "../../lib/trace/index.js";
import { InputError } from "../files/fault.js";
import { packageVersion } from "../files/package-root.js";
import { createRowFile, isSameFile, type RowFile } from "../files/row-file.js";
import { showSettings } from "../files/settings.js";
import { openStimulus } from "../files/stimulus.js";
import { openReport, type ReportTo } from "../report/html/open.js";
import { reportObject } from "../report/json.js";
import type { RunReport } from "../report/report.js";
import { newTally } from "../report/tally.js";
import { startProgress } from "./progress.js";
import type { ExitStatus } from "./terminal.js";

export interface SimulateRequest {
  /** The log, or `-`. */
  readonly file: string;
  readonly settings: Settings;
  /** Where strokes, trace and report go, if anywhere. */
  readonly strokes?: string | undefined;
  readonly trace?: string | undefined;
  readonly drawn?: ReportTo;
  /** No progress bar. */
  readonly quiet: boolean;
}

/** Runs a log. Throws an InputError for a fault in it, or a file that cannot be written; then no file is left. */
export async function simulate(request: SimulateRequest): Promise<RunReport> {
  const { settings } = request;
  const stimulus = openStimulus(request.file);
  const files = openFiles(request);
  let drawn: ReturnType<typeof openReport>;
  const progress = startProgress(stimulus.bytes, request.quiet);
  try {
    drawn = openReport(request.drawn ?? {}, settings);
    let plain: ModelRun | undefined;
    const inForce = (): Settings => plain?.state.settings ?? settings;
    const { tally, see } = newTally(inForce);
    const sink = (event: TraceEvent): void => {
      see(event);
      files.write(event);
      drawn?.see(event);
    };
    const run = runJudged(settings, sink, (...start) => {
      const started = runModel(...start);
      plain ??= started; // The plain run is started first; the varied ones are only judged.
      return started;
    });
    const sorter = instantSorter(run.give);
    for await (const batch of stimulus.events(progress.add)) {
      for (const event of batch) sorter.take(event);
    }
    sorter.end();
    run.end(Math.min(LAST_MICROS, (tally.lastMicros ?? 0) + settlingMicros(inForce())));
    const report: RunReport = {
      source: stimulus.name,
      tally,
      bounces: plain?.state.bounces ?? 0,
      verdicts: run.verdicts(),
      settings: showSettings(settings),
      inForce: settings,
      versions: { tallystroke: packageVersion(), node: process.version },
    };
    await drawn?.draw({
      report,
      numbers: reportObject(report),
      device: "the pacer in this process, in virtual time",
    });
    files.keep();
    drawn?.keep();
    return report;
  } finally {
    progress.stop();
    files.discard();
    drawn?.discard();
  }
}

/** How a run ends: a broken law, else a failed device or an open question, else well. */
export function statusOf({ verdicts, tally }: RunReport): ExitStatus {
  if (verdicts.some(({ answer }) => answer === "broken")) return 1;
  return tally.faults.length > 0 || verdicts.some(({ answer }) => answer === "cannot tell") ? 3 : 0;
}

/** After this long without input a closure has qualified, what it earned is paid or shed, and a prime has expired. */
function settlingMicros({ closedMicros, graceMicros, longestPrimeMicros }: Settings): number {
  return closedMicros + graceMicros + longestPrimeMicros;
}

interface Files {
  write(event: TraceEvent): void;
  keep(): void;
  discard(): void;
}

function openFiles({ file, strokes, trace, drawn }: SimulateRequest): Files {
  const written = [
    { field: "--strokes", name: strokes },
    { field: "--trace", name: trace },
    { field: "--report", name: drawn?.report },
  ].filter(({ name }) => name !== undefined);
  written.forEach(({ field, name }, i) => {
    refuseClash(file, name, field);
    const other = written.slice(0, i).find((one) => one.name === name);
    if (other !== undefined) {
      throw new InputError([{ field, fault: `is the file of ${other.field}`, mend: "name two files" }]);
    }
  });
  const strokeFile = strokes === undefined ? undefined : createRowFile(strokes, "time_s,cause");
  let traceFile: RowFile | undefined;
  try {
    traceFile = trace === undefined ? undefined : createRowFile(trace, TRACE_HEADER);
  } catch (error) {
    strokeFile?.discard();
    throw error;
  }
  return {
    write(event) {
      traceFile?.line(formatRow(event));
      if (event.kind === "paced" || event.kind === "primed") {
        strokeFile?.line(`${formatSeconds(event.atMicros)},${event.kind}`);
      }
    },
    keep() {
      strokeFile?.keep();
      traceFile?.keep();
    },
    discard() {
      strokeFile?.discard();
      traceFile?.discard();
    },
  };
}

function refuseClash(log: string, written: string | undefined, field: string): void {
  if (written === "-") {
    throw new InputError([{ field, fault: "is -", mend: "name a file; /dev/stdout is one too" }]);
  }
  if (written !== undefined && isSameFile(log, written)) {
    throw new InputError([
      { field, fault: "is the log itself", mend: "name another file, or the log is lost" },
    ]);
  }
}
