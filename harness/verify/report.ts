/**
 * What does a verification find? One record, from which the summary, the JSON and the JUnit file are made. Harness layer.
 */
import type { Answer, LawName, Verdict } from "../../lib/laws/index.js";
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { DeviceAbout, DeviceFault } from "../device.js";
import type { Stimulus } from "../stimuli/passage.js";
import type { Way } from "./trial.js";

export interface VerifyReport {
  readonly device: DeviceAbout;
  readonly settings: Settings;
  readonly toleranceMicros: Micros;
  readonly seed: number;
  readonly stimuli: readonly StimulusResult[];
  /** Scenarios that were asked for but cannot be played on this device, or were not begun. */
  readonly skipped: readonly Skipped[];
  /** One for each of the fifteen laws, in their order. */
  readonly laws: readonly LawResult[];
  readonly counterexamples: readonly Counterexample[];
  /** Runs that were begun again after a fault of the device. */
  readonly repeats: number;
  /** Device time of all runs together, those of the shrinking too. */
  readonly deviceMicros: Micros;
  /** It was stopped from outside. */
  readonly isGivenUp: boolean;
}

export interface StimulusResult {
  readonly name: string;
  /** How many different stimuli: one for a scenario, the number of runs for those generated. */
  readonly runs: number;
  /** Settings that it had of its own, by the core's names. */
  readonly own: readonly string[];
  /** What its runs say together. */
  readonly laws: readonly Shown[];
  readonly repeats: number;
  readonly deviceMicros: Micros;
  /** The fault that stayed, if one did; and all that came. */
  readonly fault?: DeviceFault;
}

/** A law as one stimulus, or all, showed it. */
export interface Shown extends Pick<
  Verdict,
  "law" | "margin" | "unit" | "checked" | "brokenAtMicros" | "evidence"
> {
  readonly answer: Answer | "not seen";
}

export interface LawResult extends Shown {
  readonly number: number;
  readonly statement: string;
  /** The stimulus in which it broke, or came nearest to it. */
  readonly stimulus?: string;
}

export interface Skipped {
  readonly name: string;
  readonly reason: string;
}

/** The shortest sequence of events that was found to break a law. */
export interface Counterexample {
  readonly law: LawName;
  /** The stimulus that it was made from. */
  readonly from: string;
  readonly settings: Settings;
  readonly stimulus: Stimulus;
  /** The stimulus before it was made shorter. */
  readonly before: Stimulus;
  readonly way: Way;
  readonly brokenAtMicros: Micros;
  readonly evidence: string;
  readonly tries: number;
  readonly isMinimal: boolean;
}
