/**
 * How much flash does the core alone take on an 8-bit part? By the size of programs that use so much of it and nothing else. Bench.
 */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { shipped } from "../../harness/files/package-root.js";

const FLAGS = "-mmcu=atmega328p -std=c99 -Os -ffunction-sections -fdata-sections -Wl,--gc-sections".split(
  " ",
);
const CORE = "harness/firmware/pacing/tallystroke.c";
const SOURCE = "bench/budgets/size.c";

export interface CoreSize {
  readonly what: string;
  readonly flashBytes: number;
}

const PROGRAMS = [
  { what: "start and step", defines: [] },
  { what: "and validation of settings", defines: ["CORE_VALIDATE"] },
  { what: "and snapshots", defines: ["CORE_VALIDATE", "CORE_SNAPSHOT"] },
] as const;

/** What each takes beyond a program that does nothing; undefined where no compiler is installed. */
export function coreSizes(folder: string): CoreSize[] | undefined {
  const nothing = flashOf(["CORE_NONE"], folder);
  if (nothing === undefined) return undefined;
  return PROGRAMS.map(({ what, defines }) => ({
    what,
    flashBytes: (flashOf(defines, folder) ?? 0) - nothing,
  }));
}

function flashOf(defines: readonly string[], folder: string): number | undefined {
  const program = join(folder, "size.elf");
  const words = [...FLAGS, ...defines.map((name) => `-D${name}`), `-I${shipped("harness/firmware/pacing")}`];
  if (!done("avr-gcc", [...words, shipped(SOURCE), shipped(CORE), "-o", program])) return undefined;
  const { stdout } = spawnSync("avr-size", [program], { encoding: "utf8" });
  const [text, data] = (stdout.split("\n")[1] ?? "").trim().split(/\s+/).map(Number);
  return text === undefined || data === undefined ? undefined : text + data;
}

/** Compiles steps.c to Intel HEX; undefined where no compiler is installed. */
export function compileSteps(folder: string): string | undefined {
  const program = join(folder, "steps.elf");
  const hex = join(folder, "steps.hex");
  const words = [...FLAGS, `-I${shipped("harness/firmware/pacing")}`, shipped("bench/budgets/steps.c")];
  if (!done("avr-gcc", [...words, shipped(CORE), "-o", program])) return undefined;
  return done("avr-objcopy", ["-O", "ihex", "-R", ".eeprom", program, hex]) ? hex : undefined;
}

/** False if the program is not installed; throws what it complains of. */
function done(program: string, words: readonly string[]): boolean {
  const { error, status, stderr } = spawnSync(program, words, { encoding: "utf8" });
  if (error !== undefined) return false;
  if (status !== 0) throw new Error(stderr);
  return true;
}
