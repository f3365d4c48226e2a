/**
 * Do the measurements of the core on the part measure, and the same every time?
 */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { compileSteps } from "../../bench/budgets/core-size.js";
import { searchDearest } from "../../bench/budgets/sequences.js";
import { StepBench, type TwinSettings } from "../../bench/budgets/step-bench.js";
import { imageMemory } from "../../bench/budgets/image-memory.js";
import { readHex } from "../../harness/firmware/emulator/hex.js";
import { FLASH_BYTES, RAM_BYTES } from "../../harness/firmware/emulator/machine.js";
import { shipped } from "../../harness/files/package-root.js";
import { CONTROLLER, SCRATCH } from "../devices/avr-kit.js";
import { KINDS } from "./twin/words.js";

/** As the core is now, where that can be compiled. */
const IMAGE = compileSteps(SCRATCH) ?? shipped("bench/budgets/prebuilt/steps.hex");
const STEPS = readHex(readFileSync(IMAGE, "utf8"), FLASH_BYTES);
const SETTINGS: TwinSettings = {
  strokes: 3,
  contacts: 2,
  leastSpacing: 100,
  cadence: 1,
  contactsDuringPrime: 0,
  owedLimit: 10,
  grace: 10_000,
  longestPrime: 1_000,
  primeSpacing: 100,
  guardBudget: 0,
  guardPeriod: 1,
  guardBurst: 2,
  closed: 0,
  open: 0,
  leastContact: 0,
  stuck: 0,
  silent: 0,
  largestIncrease: 10,
};
const step = (kind: (typeof KINDS)[number]) => ({ kind: KINDS.indexOf(kind), detail: 0, afterTicks: 0 });

test("the program of steps paces: a contact is stroked at once, the next stroke is wanted one spacing later", () => {
  const bench = new StepBench(STEPS);
  expect(bench.start(SETTINGS, 5)).toBe(true);
  bench.step(step("contact"), 1_000);
  bench.step(step("contact"), 1_010);
  expect(bench.wakeAtTicks).toBe(1_100);
});

test("settings that the core refuses are not measured", () => {
  const bench = new StepBench(STEPS);
  expect(bench.start({ ...SETTINGS, strokes: 0 }, 0)).toBe(false);
  expect(bench.start(SETTINGS, 0)).toBe(true);
  const change = { ...step("settings"), settings: { ...SETTINGS, owedLimit: 1 } };
  expect(bench.step(change, 10)).toBeUndefined();
});

test("a step that strokes costs more cycles than one that has nothing to do, and both fit a tick of 64 µs many times over", () => {
  const bench = new StepBench(STEPS);
  bench.start(SETTINGS, 0);
  const idle = bench.step(step("wake"), 1) ?? 0;
  const busy = bench.step(step("contact"), 2) ?? 0;
  expect(idle).toBeGreaterThan(50);
  expect(busy).toBeGreaterThan(idle);
  expect(busy).toBeLessThan(20_000);
});

test("the same seed finds the same dearest step, at the same cost and depth of stack", () => {
  const search = () => {
    const bench = new StepBench(STEPS);
    const found = searchDearest(bench, { seed: 7, drawn: 30, changes: 60 });
    return { ...found, stack: bench.stackBytes };
  };
  const found = search();
  expect(search()).toEqual(found);
  expect(found.stack).toBeGreaterThan(10);
  expect(found.stack).toBeLessThan(256);
});

test("the pacing state keeps to 96 bytes beside its tallies", () => {
  const { state, tally } = new StepBench(STEPS).sizes;
  expect(state - tally).toBeLessThanOrEqual(96);
});

test("the shipped controller leaves a fifth of the part's RAM free, deepest stack and all", async () => {
  const { flashBytes, staticBytes, stackBytes } = await imageMemory(CONTROLLER, ["bounce"]);
  expect(flashBytes).toBeLessThan(FLASH_BYTES);
  expect(stackBytes).toBeGreaterThan(32);
  expect(staticBytes).toBeGreaterThan(256);
  expect(staticBytes + stackBytes).toBeLessThan(RAM_BYTES * 0.8);
});
