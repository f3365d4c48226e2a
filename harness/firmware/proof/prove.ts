/**
 * What can be proved of the twin? Runs Frama-C over it: Eva for errors at run time, WP for the laws. Harness layer.
 *
 * The contracts stand apart, in contracts.h, so that the twin carries no notes that only a prover reads. Neither tool bounds
 * the number of steps. What is assumed is said in the heads of contracts.h and eva.c; what no prover could show is told.
 */
import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { shipped } from "../../files/package-root.js";

const TWIN = shipped("harness/firmware/pacing/tallystroke.c");
const CONTRACTS = shipped("harness/firmware/proof/contracts.h");
const DRIVER = shipped("harness/firmware/proof/eva.c");
/** One machine model for both: what the twin computes depends on no width but those of stdint.h. */
const MODEL = ["-c11", "-machdep", "gcc_x86_64"];

/** Why nothing can be proved here; undefined where it can. */
export function missingProver(): string | undefined {
  for (const program of ["frama-c", "why3", "cvc4", "z3"])
    if (spawnSync(program, ["--version"]).error) return `${program} is not installed`;
  return undefined;
}

export function twinSource(): string {
  return readFileSync(TWIN, "utf8");
}

/** The functions of the twin that have a contract, in its order. */
export function contracted(): string[] {
  const contracts = readFileSync(CONTRACTS, "utf8");
  return [...contracts.matchAll(/^\w[\w ]* (\w+)\([^;{]*\);$/gm)].map(([, name]) => name as string);
}

export interface Proved {
  readonly goals: number;
  readonly proved: number;
  /** The goals that no prover could show, by function and clause. */
  readonly unproved: readonly string[];
}

/** Asks for a proof of what the contracts of some functions say; each goal is tried for so long by each prover. */
export async function prove(
  functions: readonly string[],
  goalSeconds: number,
  source = twinSource(),
): Promise<Proved> {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-proof-"));
  try {
    const file = join(folder, "twin.c");
    writeFileSync(file, source.replace('#include "tallystroke.h"', `#include "${CONTRACTS}"`));
    const words = [
      "-wp",
      "-wp-split",
      "-wp-prover",
      "cvc4,z3",
      "-wp-timeout",
      `${goalSeconds}`,
      "-wp-par",
      "2",
    ];
    const log = await framaC([file, ...words, "-wp-fct", functions.join(",")]);
    const [, proved, goals] = /Proved goals:\s+(\d+) \/ (\d+)/.exec(log) ?? [];
    if (proved === undefined || goals === undefined)
      throw new Error(`Frama-C did not tell what it proved: ${log}`);
    const unproved = [...log.matchAll(/^\[wp\] \[(?:Failed|Timeout|Unknown)\] Goal typed_(\S+)/gm)];
    return {
      goals: Number(goals),
      proved: Number(proved),
      unproved: unproved.map(([, goal]) => goal as string),
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export interface Analysed {
  /** Statements that the analysis reached, of those there are. */
  readonly reached: string;
  /** What it could not exclude, as the twin's line and the property. */
  readonly alarms: readonly string[];
}

/** Looks for what could go wrong at run time, for any settings, inputs, times and snapshots. */
export async function analyse(): Promise<Analysed> {
  const words = [
    "-eva",
    "-eva-precision",
    "1",
    "-eva-split-return",
    "auto",
    "-eva-no-show-progress",
    "-eva-no-print",
  ];
  const log = await framaC([DRIVER, TWIN, ...words]);
  const reached = /(\d+) statements reached \(out of (\d+)\)/.exec(log);
  if (reached === null) throw new Error(`Frama-C did not tell what it reached: ${log}`);
  const alarms = [...log.matchAll(/^\[eva:alarm\] \S*?([\w.]+:\d+): Warning:\s+(.*)$/gm)];
  return {
    reached: `${String(reached[1])} of ${String(reached[2])}`,
    alarms: alarms.map(([, where, what]) => `${String(where)} ${String(what)}`),
  };
}

function framaC(words: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const child = spawn("frama-c", [...MODEL, ...words], { stdio: ["ignore", "pipe", "inherit"] });
    let log = "";
    child.stdout.setEncoding("utf8").on("data", (text: string) => (log += text));
    child.on("error", reject).on("close", () => {
      resolve(log);
    });
  });
}
