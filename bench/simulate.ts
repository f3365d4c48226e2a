/**
 * Does `simulate` cost the same per contact however long the log is, and how much memory does it need? Bench.
 *
 * Logs of contacts are written to a temporary file as a stream; the command is run on each as its own process. A
 * module loaded before it tells, when it ends, its processor time and its peak memory: VmHWM where the system has
 * it, since elsewhere a child may be charged with the memory of its parent.
 */
import { spawn } from "node:child_process";
import { once } from "node:events";
import { createWriteStream, existsSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { text } from "node:stream/consumers";
import type { Readable } from "node:stream";
import { fileURLToPath } from "node:url";
import { generator } from "./log.js";

/** One run of `simulate`, or why there is none. */
export interface SimulateRun {
  readonly contacts: number;
  readonly processorMicros: number;
  readonly wallMillis: number;
  readonly peakBytes: number;
}

/** Where the build puts the command, from the root of the repository, where npm runs scripts. */
const COMMAND = "dist/harness/cli/main.js";
const OPTIONS = ["--ratio", "2:1", "--cap", "600", "--json"];

export function isSimulateBuilt(): boolean {
  return existsSync("dist/harness/cli/simulate.js");
}

/** Runs `simulate` on an invented log of so many contacts, 0.2 to 6 s apart. */
export function runSimulate(contacts: number): Promise<SimulateRun> {
  return runSimulateIn(contacts, () => Promise.resolve());
}

/** The same, with what `more` asks for in its folder; `look` is given the folder before it goes away. */
export async function runSimulateIn(
  contacts: number,
  look: (folder: string) => Promise<void>,
  more: (folder: string) => readonly string[] = () => [],
): Promise<SimulateRun> {
  const folder = await mkdtemp(join(tmpdir(), "tallystroke-bench-"));
  try {
    const file = join(folder, "log.csv");
    await writeLog(file, contacts);
    const run = await runCommand(file, contacts, more(folder));
    await look(folder);
    return run;
  } finally {
    await rm(folder, { recursive: true });
  }
}

async function writeLog(file: string, contacts: number): Promise<void> {
  const out = createWriteStream(file);
  const random = generator(contacts);
  let millis = 0;
  out.write("# invented\ntime_s,event\n");
  for (let i = 0; i < contacts; i++) {
    millis += 200 + Math.floor(random() ** 3 * 5_800);
    if (!out.write(`${(millis / 1_000).toFixed(3)},contact\n`)) await once(out, "drain");
  }
  out.end();
  await once(out, "finish");
}

async function runCommand(file: string, contacts: number, more: readonly string[]): Promise<SimulateRun> {
  const witness = fileURLToPath(new URL("witness.js", import.meta.url));
  const startMillis = performance.now();
  const child = spawn(
    process.execPath,
    ["--import", witness, COMMAND, "simulate", file, ...OPTIONS, ...more],
    {
      stdio: ["ignore", "pipe", "inherit", "pipe"],
    },
  );
  const [summary, testimony, [status]] = await Promise.all([
    text(child.stdio[1] as Readable),
    text(child.stdio[3] as Readable),
    once(child, "close") as Promise<[number | null]>,
  ]);
  const wallMillis = performance.now() - startMillis;
  // Of a few contacts some laws cannot tell, which is status 3.
  if (status !== 0 && status !== 3)
    throw new Error(`simulate ended with status ${String(status)} on ${contacts} contacts.`);
  const counted = (JSON.parse(summary) as { contacts: unknown }).contacts;
  if (counted !== contacts) throw new Error(`simulate saw ${String(counted)} of ${contacts} contacts.`);
  const told = JSON.parse(testimony) as { processorMicros: number; peakBytes: number };
  return { contacts, wallMillis, ...told };
}
