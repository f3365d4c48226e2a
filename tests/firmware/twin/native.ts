/**
 * How is the twin built for this machine? Test support. Built once per kind into a folder that goes with the process.
 */
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const HERE = fileURLToPath(new URL(".", import.meta.url));
export const TWIN_FOLDER = fileURLToPath(new URL("../../../harness/firmware/pacing/", import.meta.url));
const TWIN = join(TWIN_FOLDER, "tallystroke.c");

export const WARNINGS = ["-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror"];
const SANITIZERS = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

/** Whether a program is there to be run. */
export function isInstalled(program: string): boolean {
  return spawnSync(program, ["--version"], { stdio: "ignore" }).error === undefined;
}

let built = 0;
let folder: string | undefined;

/** A folder of this process's own, which goes with it. */
function ownFolder(): string {
  if (folder !== undefined) return folder;
  const made = mkdtempSync(join(tmpdir(), "tallystroke-twin-"));
  process.on("exit", () => {
    rmSync(made, { recursive: true, force: true });
  });
  return (folder = made);
}

/** Builds the driver of a twin, by default the one of this repository, and answers with its path. */
export function buildDriver({ sanitized = false, twin = TWIN, compiler = "cc" } = {}): string {
  const path = join(ownFolder(), `driver-${++built}`);
  execFileSync(
    compiler,
    [
      ...WARNINGS,
      "-O1",
      "-g",
      ...(sanitized ? SANITIZERS : []),
      ...["-I", TWIN_FOLDER, join(HERE, "driver.c"), twin, "-o", path],
    ],
    { stdio: ["ignore", "inherit", "inherit"] },
  );
  return path;
}

/** Runs the driver; what a sanitizer says becomes the error. */
export function runDriver(path: string, words: readonly string[], input?: Uint32Array): Uint32Array {
  const bytes = input && new Uint8Array(input.buffer, input.byteOffset, input.byteLength);
  const { status, stdout, stderr } = spawnSync(path, words, {
    ...(bytes && { input: bytes }),
    maxBuffer: 2 ** 30,
  });
  if (status !== 0) throw new Error(`the driver ended with status ${status}: ${stderr.toString()}`);
  return new Uint32Array(stdout.buffer.slice(stdout.byteOffset, stdout.byteOffset + stdout.byteLength));
}
