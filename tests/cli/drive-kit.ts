/**
 * How do tests run a live feed as a process? Test support.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { join } from "node:path";
import { onTestFinished } from "vitest";
import { NODE_ARGS } from "./kit.js";

export interface Driving {
  readonly child: ChildProcess;
  readonly journal: string;
  /** Resolves once so many lines of events of this kind were told. */
  told(kind: string, times: number): Promise<void>;
  ended(): Promise<{
    readonly status: number | null;
    readonly lines: readonly string[];
    readonly talk: string;
  }>;
}

/** Starts a feed that tells every event, in a process of its own; it is killed after the test. */
export function startDrive(cwd: string, words: readonly string[]): Driving {
  const args = [...NODE_ARGS, "drive", ...words, "--journal", "journal", "--json"];
  const child = spawn(process.execPath, args, { cwd });
  onTestFinished(() => void child.kill("SIGKILL"));
  let text = "";
  let talk = "";
  let isTold: (() => void) | undefined;
  child.stdout.on("data", (data: Buffer) => {
    text += data.toString();
    isTold?.();
  });
  child.stderr.on("data", (data: Buffer) => (talk += data.toString()));
  const ended = new Promise<number | null>((resolve) => child.on("close", resolve));
  return {
    child,
    journal: join(cwd, "journal"),
    told: (kind, times) =>
      new Promise((resolve, reject) => {
        isTold = () => {
          if (text.split(`"${kind}"`).length > times) resolve();
        };
        void ended.then(() => {
          reject(new Error(`it ended first: ${text}${talk}`));
        });
        isTold();
      }),
    ended: async () => ({ status: await ended, lines: text.split("\n").filter(Boolean), talk }),
  };
}

/** The kinds of lines that were told. */
export function kindsIn(lines: readonly string[]): string[] {
  return lines.map((line) => (JSON.parse(line) as { kind: string }).kind);
}
