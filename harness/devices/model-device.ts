/**
 * How does something in this process stand behind the seam of devices? In virtual time, as fast as it computes.
 *
 * Harness layer. A run is fed event by event; what it throws is a fault of the device, what the sink throws is ours.
 */
import { setImmediate } from "node:timers/promises";
import { LAW_NAMES } from "../../lib/laws/index.js";
import type { Micros } from "../../lib/pacing/index.js";
import { EVENT_KINDS, isStimulusKind, type TraceEvent } from "../../lib/trace/index.js";
import type { Device, DeviceAbout, Job, JobEnd, RunOptions, StartRun } from "../device.js";
import { SETTING_NAMES } from "../link/setting-names.js";
import { runModel } from "./model.js";

/** Events between two looks at whether the run has been given up. */
const EVENTS_BETWEEN_LOOKS = 1_024;
/** Spreads the lateness of wake-ups over what is allowed; any odd number does. */
const LATENESS_FACTOR = 31;

/** The device `model`: by default the library's own pacer. */
export function modelDevice(start: StartRun = runModel): Device {
  const about: DeviceAbout = {
    spec: "model",
    name: start === runModel ? "the library's own pacer" : "a controller in this process",
    role: "in process",
    clock: "virtual",
    tickMicros: 1,
    takes: new Set(EVENT_KINDS.filter(isStimulusKind)),
    tells: new Set(EVENT_KINDS.filter((kind) => !isStimulusKind(kind) && kind !== "fault")),
    laws: new Set(LAW_NAMES),
    settable: new Set(SETTING_NAMES),
    canStartAt: true,
    canLag: true,
  };
  let isRunning = false;
  return {
    about,
    async run(job) {
      if (isRunning) throw new Error("a run is on already");
      isRunning = true;
      try {
        return await play(start, job);
      } finally {
        isRunning = false;
      }
    },
    close: () => Promise.resolve(),
  };
}

async function play(start: StartRun, job: Job): Promise<JobEnd> {
  const startMicros = job.startMicros ?? 0;
  let sinkFailure: { readonly error: unknown } | undefined;
  const sink = (event: TraceEvent): void => {
    try {
      job.sink({ ...event, atMicros: event.atMicros - startMicros });
    } catch (error) {
      sinkFailure = { error };
      throw error;
    }
  };
  let told = 0;
  try {
    const run = start(job.settings, sink, { startMicros, ...lateness(job.lagMicros ?? 0) });
    for (const event of job.stimulus) {
      if (told % EVENTS_BETWEEN_LOOKS === 0) {
        if (told > 0) await setImmediate();
        if (job.signal?.aborted === true) return givenUp();
      }
      run.give({ ...event, atMicros: event.atMicros + startMicros });
      told += 1;
    }
    run.end(job.untilMicros + startMicros);
    return { ok: true };
  } catch (error) {
    if (sinkFailure !== undefined) throw sinkFailure.error;
    const words = error instanceof Error ? error.message : String(error);
    return {
      ok: false,
      fault: {
        kind: "failed",
        message: `it threw in event ${told + 1} of ${job.stimulus.length}: ${words}`,
        mend: "mend the controller; any input in any order must have an answer",
      },
    };
  }
}

function lateness(lagMicros: Micros): RunOptions {
  return lagMicros === 0
    ? {}
    : { lateness: (askedMicros) => (askedMicros * LATENESS_FACTOR) % (lagMicros + 1) };
}

function givenUp(): JobEnd {
  return {
    ok: false,
    fault: { kind: "given-up", message: "the run was given up from outside", mend: "run it again" },
  };
}
