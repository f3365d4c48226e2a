import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, test } from "vitest";
import { run } from "./kit.js";

const folder = mkdtempSync(join(tmpdir(), "tallystroke-verify-"));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

const MODEL = ["verify", "--device", "model", "--ratio", "2:1", "--cap", "120"];

describe("bad words end in 2 and name place and mend", () => {
  test.each([
    ["no ratio", ["verify", "--device", "model", "--cap", "120"], "--ratio is missing. Mend: "],
    [
      "a device that is none",
      ["verify", "--device", "usb", "--ratio", "2:1", "--cap", "120"],
      '--device "usb" names no device. Mend: ',
    ],
    ["runs that are no number", [...MODEL, "--runs", "many"], '--runs is "many". Mend: '],
    ["a seed of nothing", [...MODEL, "--seed", "0"], '--seed is "0". Mend: '],
    ["a tolerance without a unit", [...MODEL, "--tolerance", "5"], '--tolerance is "5". Mend: '],
    ["a scenario that is none", [...MODEL, "--scenario", "flood"], '--scenario "flood" is none. Mend: '],
    ["a log that is nowhere", [...MODEL, "--log", "nowhere.csv"], "nowhere.csv: cannot be read"],
    [
      "a log that would not be played",
      [...MODEL, "--log", "a.csv", "--scenario", "steady"],
      "--log would not be played",
    ],
    [
      "runs beside a replay",
      [...MODEL, "--replay", "a.csv", "--runs", "3"],
      "--runs is given beside --replay",
    ],
    // Before anything is played: hours on a bench must not end at a name.
    [
      "a JUnit file in no folder",
      [...MODEL, "--junit", "nowhere/a.xml"],
      /^nowhere\/a\.xml: cannot be written/,
    ],
    ["a JUnit file that is -", [...MODEL, "--junit", "-"], /^--junit is -\. Mend: /],
    ["a replay of nothing", [...MODEL, "--replay", "nowhere.csv"], "nowhere.csv: cannot be read"],
  ])("%s", async (_, words, talk) => {
    const ended = await run(...words);
    expect({ status: ended.status, result: ended.result }).toEqual({ status: 2, result: "" });
    expect(ended.talk).toMatch(talk);
  });
});

test("the verdict comes first, in one sentence, and no line is wider than 80 columns", async () => {
  const { status, result, talk } = await run(...MODEL, "--runs", "5");
  expect(status).toBe(0);
  expect(result).toMatch(/^HOLDS: the device keeps all 15 laws in all that was played\.\n\nDevice model /);
  expect(talk).toMatch(/^Seed 1\. Device model /);
  expect(`${result}${talk}`.split("\n").filter((line) => line.length > 80)).toEqual([]);
});

test("--json gives the same object for the same seed", async () => {
  const words = [...MODEL, "--runs", "5", "--seed", "3", "--scenario", "steady", "--json"];
  const { result } = await run(...words);
  expect((await run(...words)).result).toBe(result);
  const object = JSON.parse(result) as {
    verdict: string;
    seed: number;
    laws: unknown[];
    stimuli: { name: string }[];
  };
  expect({ verdict: object.verdict, seed: object.seed, laws: object.laws.length }).toEqual({
    verdict: "holds",
    seed: 3,
    laws: 15,
  });
  expect(object.stimuli.map(({ name }) => name)).toEqual(["steady", "generated"]);
});

test("--list names every scenario with its time, and needs no ratio", async () => {
  const { status, result } = await run("verify", "--device", "model", "--list");
  expect(status).toBe(0);
  expect(result).toMatch(/\n {2}steady +27 s +contacts evenly spaced/);
  expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
});

test("--quick shortens what must wait", async () => {
  const time = async (...more: string[]): Promise<string> =>
    /long-silence +(.*?) {2}/.exec(
      (await run("verify", "--device", "model", "--list", ...more)).result,
    )?.[1] ?? "";
  expect([await time(), await time("--quick")]).toEqual(["3 min 11 s", "12.7 s"]);
});

test("a log is replayed to a verdict; laws that it does not show are not seen", async () => {
  const file = join(folder, "log.csv");
  writeFileSync(file, "time_s\n1\n2\n3\n");
  const { status, result } = await run(...MODEL, "--replay", file, "--json");
  expect(status).toBe(0);
  const { laws } = JSON.parse(result) as { laws: { law: string; answer: string }[] };
  expect(laws.filter(({ answer }) => answer === "not seen").map(({ law }) => law)).toEqual([
    "prime",
    "silence",
    "guard",
  ]);
});

test("a log of nothing shows nothing: 3", async () => {
  const file = join(folder, "empty.csv");
  writeFileSync(file, "time_s\n");
  expect((await run(...MODEL, "--replay", file)).status).toBe(3);
});

test("a port that is not there ends in 3 with what to do", async () => {
  const { status, talk } = await run(
    "verify",
    "--device",
    "serial:/nowhere",
    "--ratio",
    "2:1",
    "--cap",
    "120",
  );
  expect(status).toBe(3);
  expect(talk).toContain("Mend:");
});
