/**
 * The invented day and what the demo says of it; every summary fits 80 columns.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { shipped } from "../../harness/files/package-root.js";
import { creameryLog, DEMO_FILE } from "../../harness/stimuli/creamery.js";
import { FULL_STROKE_STATEMENT } from "../../lib/pacing/index.js";
import { folder, run, runShell } from "./kit.js";

test("the shipped log is the one that its script makes, and says that it is invented", () => {
  const log = readFileSync(shipped(DEMO_FILE), "utf8");
  expect(log).toBe(creameryLog());
  expect(log).toMatch(/^# Invented, not measured: /);
});

test("the demo keeps all laws, and shows shedding at the limit, bounce and a prime", async () => {
  const { status, result, talk } = await run("demo");
  expect([status, talk]).toEqual([0, ""]);
  expect(result).toMatch(/^This day is invented: /);
  expect(result.match(/^ +\d+ [a-z-]+ +holds/gm)).toHaveLength(15);
  expect(result).toMatch(/bounce +\d+ closures not counted/);
  expect(result).toMatch(/shed +\d+ strokes \(\d\.\d\d % of the earned\): more was owed/);
  expect(result).toMatch(/primed +26 strokes/);
  expect(result.replaceAll(/\s+/g, " ")).toContain(FULL_STROKE_STATEMENT);
  expect(result).toContain("a simulation, not a measurement of water");
});

test("no line of the demo is longer than 80 columns", async () => {
  const { result } = await run("demo");
  const long = result.split("\n").filter((line) => line.length > 80);
  expect(long).toEqual([]);
});

test("the commands that the demo ends with work as they stand", async () => {
  const { result } = await run("demo");
  const commands = result
    .slice(result.indexOf("Try next"))
    .replaceAll("\\\n", " ")
    .split("\n")
    .filter((line) => line.startsWith("    "))
    .map((line) => line.trim().replace("npx tallystroke", "tallystroke"));
  expect(commands).toHaveLength(4);
  const cwd = folder();
  for (const command of commands) {
    const here = command.replace(/\S*creamery\.csv/, shipped(DEMO_FILE));
    const ended = await runShell(here, cwd);
    expect([here, ended.status, ended.talk]).toEqual([here, 0, ""]);
  }
  expect(readFileSync(join(cwd, "strokes.csv"), "utf8")).toMatch(/^time_s,cause\n\d+\.\d{6},paced\n/);
});
