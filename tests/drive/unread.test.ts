/**
 * Real processes of `drive` whose lines nobody reads: a stopped terminal, a pipe with a reader that hangs.
 */
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { spawn as spawnOnTerminal } from "@lydell/node-pty";
import { expect, onTestFinished, test, vi } from "vitest";
import { readJournal } from "../../harness/journal/reading.js";
import { HEAD_FILE } from "../../harness/journal/schema.js";

const ROOT = fileURLToPath(new URL("../../", import.meta.url));
const PATIENCE = { timeout: 60_000, interval: 50 };
/** Of a feed whose lines no terminal and no pipe can hold any more. */
const STEPS_MANY = 250;

function feed() {
  const above = mkdtempSync(join(tmpdir(), "tallystroke-unread-"));
  onTestFinished(() => {
    rmSync(above, { recursive: true, force: true });
  });
  const folder = join(above, "journal");
  const args = [
    ...["--import", "tsx", "harness/cli/main.ts", "drive", "--meter", "mock?pace=100", "--pump", "mock"],
    ...["--ratio", "2:1", "--cap", "600", "--json", "--journal", folder],
  ];
  const steps = (): number => {
    const file = join(folder, HEAD_FILE);
    return existsSync(file) ? Number(readFileSync(file, "latin1").slice(5, 21)) : 0;
  };
  return { args, folder, steps };
}

test("a terminal that is stopped stops no feed, which still takes a signal", async () => {
  const { args, folder, steps } = feed();
  const shell = spawnOnTerminal(process.execPath, args, { cwd: ROOT });
  onTestFinished(() => {
    shell.kill("SIGKILL");
  });
  shell.pause();
  await vi.waitFor(() => {
    expect(steps()).toBeGreaterThan(STEPS_MANY);
  }, PATIENCE);
  shell.kill("SIGTERM");
  await vi.waitFor(() => {
    const journal = readJournal(folder);
    expect(journal.runs().map(({ end }) => end)).toEqual(["a signal"]);
    journal.close();
  }, PATIENCE);
  const status = new Promise((resolve) => {
    shell.onExit(({ exitCode }) => {
      resolve(exitCode);
    });
  });
  shell.resume();
  expect(await status).toBe(0);
});

test("a reader that hangs holds up no end", async () => {
  const { args, steps } = feed();
  const child = spawn(process.execPath, args, { cwd: ROOT, stdio: ["ignore", "pipe", "ignore"] });
  onTestFinished(() => {
    child.kill("SIGKILL");
  });
  const status = new Promise((resolve) => child.on("exit", resolve));
  await vi.waitFor(() => {
    expect(steps()).toBeGreaterThan(2 * STEPS_MANY);
  }, PATIENCE);
  child.kill("SIGTERM");
  expect(await status).toBe(0);
});
