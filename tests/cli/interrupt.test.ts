/**
 * A run that is interrupted leaves no half file, and does not pass for done.
 */
import { spawn } from "node:child_process";
import { readdirSync, watch } from "node:fs";
import { expect, test } from "vitest";
import { folder, NODE_ARGS } from "./kit.js";

test.each([
  ["SIGHUP", 129],
  ["SIGINT", 130],
  ["SIGTERM", 143],
] as const)("%s takes back the files that were begun and ends in %i", async (signal, expected) => {
  const cwd = folder();
  const args = [
    "simulate",
    "-",
    "--ratio",
    "1:1",
    "--cap",
    "60",
    "--strokes",
    "out.csv",
    "--trace",
    "all.csv",
  ];
  const status = await new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [...NODE_ARGS, ...args], { cwd });
    const watcher = watch(cwd, () => {
      if (readdirSync(cwd).length < 2) return; // Both files must have been begun.
      watcher.close();
      child.kill(signal);
    });
    child.on("error", reject);
    child.on("close", resolve);
    child.stdin.write("time_s\n1\n2\n"); // And no end: it waits for more.
  });
  expect([status, readdirSync(cwd)]).toEqual([expected, []]);
});
