/**
 * How is the firmware's link tried without a microcontroller? Compiled for this machine, with every check that the
 * compiler has, and fed a whole session at once. Test support.
 */
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, test } from "vitest";
import { compile, compilerOf, type Role } from "../../harness/firmware/build.js";

const TIMEOUT_MILLIS = 60_000;
const SANITIZED = ["-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

/** A folder that goes away with the tests of a file. */
export const SCRATCH = mkdtempSync(join(tmpdir(), "tallystroke-firmware-"));
afterAll(() => {
  rmSync(SCRATCH, { recursive: true, force: true });
});

/** Skips where there is no compiler for this machine, and says so. */
const hasCompiler = compilerOf("host") !== undefined;
if (!hasCompiler) process.stdout.write("skipped: cc is not installed\n");
export const nativeTest = test.skipIf(!hasCompiler);

export interface NativeOptions {
  readonly role?: Role;
  /** µs of a tick; default 64, as on the microcontroller. */
  readonly tickMicros?: number;
  /** Default the program on a terminal. */
  readonly board?: string;
}

/** Compiles the firmware for this machine; throws what the compiler says, if there is one. */
export function compileNative({ role = "controller", tickMicros = 64, board }: NativeOptions): string {
  const to = join(SCRATCH, `${role}-${tickMicros}${board === undefined ? "" : "-scripted"}`);
  const more = [`-DBOARD_TICK_MICROS=${tickMicros}u`, ...SANITIZED];
  if (existsSync(to)) return to;
  const fault = compile({ part: "host", role, to, more, ...(board === undefined ? {} : { board }) });
  if (fault !== undefined && hasCompiler) throw new Error(fault);
  return to;
}

/** All that a program says to `bytes`, till it ends as its input does. Throws if it ends otherwise. */
export function converse(program: string, bytes: Uint8Array): string {
  const { status, signal, stdout, stderr } = spawnSync(program, {
    input: bytes,
    encoding: "latin1",
    timeout: TIMEOUT_MILLIS,
    maxBuffer: 2 ** 28,
  });
  if (status !== 0) throw new Error(`ended with ${status ?? signal ?? "nothing"}\n${stderr}`);
  return stdout;
}
