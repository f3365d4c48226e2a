/**
 * What is a device? Whatever turns a stimulus into a trace. Harness layer: the seams that every device stands behind.
 *
 * A `Device` is run from a fresh start as often as one likes, over a wire or not; a `Run` is one such run of something
 * in this process, in virtual time, fed event by event.
 */
import type { LawName } from "../lib/laws/index.js";
import type { Micros, Settings } from "../lib/pacing/index.js";
import type { EventKind, StimulusEvent, TraceEvent } from "../lib/trace/index.js";

/** One run of a device in this process, in virtual time. */
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

/** What a device says of itself. */
export interface DeviceAbout {
  /** The specification it was opened by, such as `mock` or `serial:/dev/ttyUSB0`. */
  readonly spec: string;
  /** What it calls itself. */
  readonly name: string;
  readonly role: "in process" | "controller" | "fixture";
  /** Whether its time can be let go on as fast as it can compute, or runs by itself. */
  readonly clock: "virtual" | "real";
  /** One tick of its time stamps, in µs, 1 to 1,000. */
  readonly tickMicros: number;
  /** The inputs that it can be given. */
  readonly takes: ReadonlySet<StimulusEvent["kind"]>;
  /** What it tells of itself, beside faults. */
  readonly tells: ReadonlySet<EventKind>;
  /** The laws that can be observed on it. */
  readonly laws: ReadonlySet<LawName>;
  /** The settings that it can be given, by the core's names; a controller behind a fixture is set by hand. */
  readonly settable: ReadonlySet<keyof Settings>;
  /** Whether a run can start at another reading of its clock, and whether its wake-ups can be made late. */
  readonly canStartAt: boolean;
  readonly canLag: boolean;
}

/** One run that is asked of a device: from a fresh start, in the times of the stimulus. */
export interface Job {
  readonly settings: Settings;
  /** In order, and within an instant in the documented order. */
  readonly stimulus: readonly StimulusEvent[];
  /** How long it goes on. */
  readonly untilMicros: Micros;
  /** Reading of the device's clock at the start, in µs, where it can be set; default as it is. */
  readonly startMicros?: Micros;
  /** Its own wake-ups come up to so much late; default 0. */
  readonly lagMicros?: Micros;
  /** Told the trace, in order, times from the start of the run; strokes of unknown cause already named. */
  readonly sink: TraceSink;
  /** Gives the run up; the device is left idle. */
  readonly signal?: AbortSignal;
}

/** Why a device could not finish a run. None of these is a verdict on its controller. */
export const DEVICE_FAULTS = [
  /** No answer within the limits. */
  "silent",
  /** The port went away. */
  "unplugged",
  /** It started anew in the middle. */
  "restarted",
  /** A report was lost and could not be had again. */
  "lost-report",
  /** It refused what its greeting promised. */
  "refused",
  /** It answered what cannot be: a wrong number, an unknown word, a time that goes back. */
  "nonsense",
  /** It sent more than any honest run can. */
  "flood",
  /** An input came too late to be done at its time. */
  "late",
  /** It said itself that it cannot go on. */
  "failed",
  /** The run was given up from outside. */
  "given-up",
] as const;

export interface DeviceFault {
  readonly kind: (typeof DEVICE_FAULTS)[number];
  /** What happened and where, in words. */
  readonly message: string;
  /** What to do. */
  readonly mend: string;
}

/** Resolved, never rejected, for what the world did; a rejection is a defect of ours. */
export type JobEnd = { readonly ok: true } | { readonly ok: false; readonly fault: DeviceFault };

/** A device that can be run again and again. */
export interface Device {
  readonly about: DeviceAbout;
  /** One at a time. Whatever way it ends, the device is idle after. */
  run(job: Job): Promise<JobEnd>;
  /** Leaves it idle and lets the port go. Never rejects. */
  close(): Promise<void>;
}
