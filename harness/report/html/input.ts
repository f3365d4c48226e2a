/**
 * What is an HTML report made from? Harness layer.
 */
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
