/**
 * How does a run in microseconds look in the ticks of a device's counter? Harness layer.
 *
 * Wakes the run on whole ticks, late as told, hands it what is queued in the order of time, and turns what it tells into
 * reports. Ticks are unwrapped here. A run that throws has failed, which is told and ends it.
 */
import type { Settings } from "../../lib/pacing/index.js";
import { isStimulus, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import type { Run, StartRun } from "../devices/device.js";
import type { DeviceProfile } from "./device-end-profile.js";
import { type LinkInput, OWED_MOST, type Reported, type RequestNumber } from "./message.js";

/** Turns a count of ticks into µs, rounded up, and back, rounded down: of a whole tick one undoes the other. */
export interface TickScale {
  readonly microsOf: (ticks: number) => number;
  readonly ticksOf: (micros: number) => number;
}

/** An input, with the settings that it brings into force if it is one of those. */
export interface Asked {
  readonly atTicks: number;
  readonly input: LinkInput;
  readonly settings: Settings | undefined;
  readonly number: RequestNumber;
}

export interface DeviceRun {
  /** Does an input at its time. */
  act(asked: Asked): void;
  /** Lets time go on. */
  goTo(ticks: number): void;
  /** Tells the accounts as they are. */
  tellStatus(ticks: number): void;
}

export interface DeviceRunOptions {
  readonly start: StartRun;
  readonly profile: DeviceProfile;
  readonly settings: Settings;
  readonly startTicks: number;
  readonly lagTicks: number;
  readonly report: (ticks: number, event: Reported) => void;
}

const MICROS_PER_SECOND = 1_000_000;
/** An odd number, so that lags are spread over their range. */
const LAG_STRIDE = 31;

export function tickScale(ticksPerSecond: number): TickScale {
  const common = commonDivisor(MICROS_PER_SECOND, ticksPerSecond);
  const micros = MICROS_PER_SECOND / common;
  const ticks = ticksPerSecond / common;
  // The whole part and the rest apart: the product of all of it may be too large to be exact.
  return {
    microsOf: (count) => Math.floor(count / ticks) * micros + Math.ceil(((count % ticks) * micros) / ticks),
    ticksOf: (count) => Math.floor(count / micros) * ticks + Math.floor(((count % micros) * ticks) / micros),
  };
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

export function newDeviceRun(options: DeviceRunOptions): DeviceRun {
  const { profile, report, settings, startTicks, lagTicks } = options;
  const { microsOf, ticksOf } = tickScale(profile.ticksPerSecond);
  let acting: RequestNumber;
  let run: Run | undefined;
  let accounts: Reported = { kind: "status", earned: 0, paced: 0, primed: 0, owed: 0, shed: 0, remainder: 0 };

  const lateness = (askedMicros: number): number => {
    const due = ticksOf(askedMicros);
    const tick = microsOf(due) < askedMicros ? due + 1 : due;
    return microsOf(tick + ((tick * LAG_STRIDE) % (lagTicks + 1))) - askedMicros;
  };
  const fail = (ticks: number, message: string): void => {
    run = undefined;
    report(ticks, { kind: "fault", message });
  };
  const guarded = (ticks: number, work: (run: Run) => void): void => {
    if (run === undefined) return;
    try {
      work(run);
    } catch (error) {
      fail(ticks, error instanceof Error ? error.message : "failed");
    }
  };
  const sink = (event: TraceEvent): void => {
    const ticks = ticksOf(event.atMicros);
    if (isStimulus(event)) {
      report(ticks, { kind: "did", number: acting });
      return;
    }
    const told = asTold(event);
    if (told.kind === "status") accounts = told;
    const isTold = told.kind === "fault" || profile.tells.includes(told.kind);
    if (isTold) report(ticks, told);
    else if ((told.kind === "paced" || told.kind === "primed") && profile.tells.includes("stroke")) {
      report(ticks, { kind: "stroke" });
    }
  };
  run = options.start(settings, sink, { startMicros: microsOf(startTicks), lateness });

  return {
    act({ atTicks, input, settings: next, number }) {
      guarded(atTicks, (current) => {
        acting = number;
        current.give(stimulusOf(input, microsOf(atTicks), next));
      });
    },
    goTo(ticks) {
      guarded(ticks, (current) => {
        current.end(microsOf(ticks));
      });
    },
    tellStatus(ticks) {
      report(ticks, accounts);
    },
  };
}

function stimulusOf(input: LinkInput, atMicros: number, settings: Settings | undefined): StimulusEvent {
  if (input.kind !== "settings") return { ...input, atMicros };
  if (settings === undefined) throw new Error("settings were not looked at when they were asked for");
  return { ...input, atMicros, settings };
}

/** Counts as 32 bits hold them: a controller that reckons below nothing tells a large number, as firmware would. */
function asTold(event: Exclude<TraceEvent, StimulusEvent>): Exclude<Reported, { kind: "did" | "stroke" }> {
  const told: { [name: string]: unknown } = {};
  for (const [name, value] of Object.entries(event)) {
    if (name !== "atMicros") told[name] = typeof value === "number" ? value >>> 0 : value;
  }
  if (event.kind === "status") {
    told["owed"] = Math.min(event.owed >>> 0, OWED_MOST);
    told["remainder"] = Math.min(event.remainder >>> 0, 65_535);
  }
  return told as unknown as Exclude<Reported, { kind: "did" | "stroke" }>;
}
