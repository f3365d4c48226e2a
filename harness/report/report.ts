/**
 * What is a report made from? The record of a run, gathered once, drawn in several ways. Harness layer.
 */
import type { Verdict } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { Tally } from "./tally.js";

export interface RunReport {
  /** What ran: the name of the log. */
  readonly source: string;
  readonly tally: Tally;
  /** Closures of the contact that were bounce. */
  readonly bounces: number;
  readonly verdicts: readonly Verdict[];
  /** By the names and in the units of the options. */
  readonly settings: { readonly [name: string]: string | number };
  readonly inForce: Settings;
  readonly versions: { readonly [name: string]: string };
}
