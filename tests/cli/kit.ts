/**
 * How do tests run the command? As a process of its own, or in this one. Test support.
 */
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { onTestFinished } from "vitest";
import { runCommand } from "../../harness/cli/command.js";

const ROOT = fileURLToPath(new URL("../../", import.meta.url));
export const MAIN = join(ROOT, "harness/cli/main.ts");
/** Node's arguments that run the command from source. */
export const NODE_ARGS = ["--import", import.meta.resolve("tsx"), MAIN];

export interface Ended {
  readonly status: number | null;
  readonly result: string;
  readonly talk: string;
}

/** A folder of its own for one test, taken away after it. */
export function folder(files: { readonly [name: string]: string | Buffer } = {}): string {
  const path = mkdtempSync(join(tmpdir(), "tallystroke-"));
  onTestFinished(() => {
    rmSync(path, { recursive: true });
  });
  for (const [name, content] of Object.entries(files)) writeFileSync(join(path, name), content);
  return path;
}

/** Runs the command as a process, in `cwd`; `input` goes to its standard input. */
export function runProcess(args: readonly string[], cwd: string, input = ""): Promise<Ended> {
  return runAny(process.execPath, [...NODE_ARGS, ...args], cwd, input);
}

/** Runs a line of the shell, in which `tallystroke` stands for the command. */
export function runShell(line: string, cwd: string): Promise<Ended> {
  const quoted = [process.execPath, ...NODE_ARGS].map((part) => `'${part}'`).join(" ");
  return runAny("bash", ["-c", `tallystroke() { ${quoted} "$@"; }; ${line}`], cwd, "");
}

function runAny(command: string, args: readonly string[], cwd: string, input: string): Promise<Ended> {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, { cwd });
    let result = "";
    let talk = "";
    child.stdout.on("data", (data: Buffer) => (result += data.toString()));
    child.stderr.on("data", (data: Buffer) => (talk += data.toString()));
    child.on("error", reject);
    child.on("close", (status) => {
      resolve({ status, result, talk });
    });
    child.stdin.on("error", () => undefined); // It may end before it has read all.
    child.stdin.end(input);
  });
}

/** Runs the command in this process. */
export async function run(...args: string[]): Promise<Ended> {
  let result = "";
  let talk = "";
  const status = await runCommand(args, {
    result: (text) => {
      result += text;
      return Promise.resolve();
    },
    talk: (text) => {
      talk += text;
    },
  });
  return { status, result, talk };
}
