/**
 * Our host program on libsimavr: is what it needs here, and how is it compiled? Harness layer.
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync } from "node:fs";
import { dirname } from "node:path";
import { shipped } from "../../files/package-root.js";

const SOURCES = ["simavr.c", "part.c"].map((name) => `harness/firmware/emulator/${name}`);
const HEADERS = "/usr/include/simavr";
const FLAGS = "-std=c99 -O2 -Wall -Wextra -Wpedantic -Wconversion -Werror".split(" ");

/** Compiles to `program`; answers why it could not be, or undefined. What the compiler says goes to stderr. */
export function buildEmulator(program: string): string | undefined {
  if (!existsSync(`${HEADERS}/sim_avr.h`)) return "libsimavr-dev is not installed";
  mkdirSync(dirname(program), { recursive: true });
  const words = [...FLAGS, "-isystem", HEADERS, ...SOURCES.map(shipped), "-o", program, "-lsimavr", "-lelf"];
  const { error, status } = spawnSync("cc", words, { stdio: ["ignore", "ignore", "inherit"] });
  if (error !== undefined) return "cc is not installed";
  return status === 0 ? undefined : "our host program does not compile";
}
