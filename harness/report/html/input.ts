/**
 * What is an HTML report made from? Harness layer.
 */
import type { Answer, Verdict } from "../../../lib/laws/index.js";
import type { Micros, Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import type { RunReport } from "../report.js";
import type { Drawn } from "./sink.js";

export interface ReportInput {
  readonly report: RunReport;
  /** The object that `--json` prints for the same run, as it is. */
  readonly numbers: object;
  readonly drawn: Drawn;
  /** Which device it was, in words, and whether it is a simulation of one. */
  readonly device: string;
  readonly seed?: number | undefined;
  /** The smallest stimulus that was found to break a law, with what came of it. */
  readonly counterexample?: Counterexample | undefined;
  /** Ratio of the plan that the water was taken from. */
  readonly planRatio?: string | undefined;
}

export interface Counterexample {
  readonly law: string;
  /** What was seen, in words. */
  readonly says: string;
  readonly atMicros?: number | undefined;
  readonly events: readonly TraceEvent[];
}

/** A law as one run, or many, showed it. `not seen`: it cannot be observed on this device, or nothing of it came up. */
export interface JudgedLaw extends Omit<Verdict, "answer"> {
  readonly answer: Answer | "not seen";
  /** The stimulus in which it broke, or came nearest to it, where there were several. */
  readonly stimulus?: string | undefined;
}

/** What a report of a verification is made from. */
export interface VerifyInput {
  /** Which device it was, in words: specification, name, role, clock. */
  readonly device: string;
  readonly laws: readonly JudgedLaw[];
  /** What was played: its name, how many runs, and how it went, in words. */
  readonly stimuli: readonly { readonly name: string; readonly runs: number; readonly says: string }[];
  readonly skipped: readonly { readonly name: string; readonly reason: string }[];
  /** Faults of the device that stayed. */
  readonly faults: readonly string[];
  readonly counterexamples: readonly Counterexample[];
  readonly seed: number;
  /** How far off a time stamp may be. */
  readonly toleranceMicros: Micros;
  readonly settings: { readonly [name: string]: string | number };
  readonly inForce: Settings;
  readonly versions: { readonly [name: string]: string };
  /** The object that `--json` prints for the same verification, as it is. */
  readonly numbers: object;
  /** One of its runs, to be drawn over time: which, in words, and what was gathered of it. */
  readonly run?: { readonly says: string; readonly report: RunReport; readonly drawn: Drawn } | undefined;
}
