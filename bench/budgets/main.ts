/**
 * `npm run budgets [-- --drawn N] [-- --prebuilt]`: what does the core cost on an 8-bit part, and the ES5 file in a small engine, beside
 * what was aimed at? Bench.
 *
 * Cycles and stack are measured on the emulator, over steps that are drawn at random and then made dearer bit by bit. Without a
 * cross compiler the shipped program is measured, and the flash of the core alone is left out. Exit status 0 whatever is found, as
 * an aim is no law.
 */
import { copyFileSync, existsSync, mkdirSync, readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { CONTROLLER_IMAGE } from "../../harness/devices/avr.js";
import { shipped } from "../../harness/files/package-root.js";
import { es5Figures } from "../../harness/firmware/es5/figures.js";
import { readHex } from "../../harness/firmware/emulator/hex.js";
import { CYCLES_PER_SECOND, FLASH_BYTES, RAM_BYTES } from "../../harness/firmware/emulator/machine.js";
import { compileSteps, coreSizes } from "./core-size.js";
import { imageMemory } from "./image-memory.js";
import { searchDearest, wordsForStep } from "./sequences.js";
import { KINDS } from "../../tests/firmware/twin/words.js";
import { StepBench } from "./step-bench.js";

const SHIPPED_STEPS = shipped("bench/budgets/prebuilt/steps.hex");
const FIXTURE_IMAGE = "harness/firmware/image/prebuilt/fixture.hex";
const SEEDS = [1, 2, 3];
const CHANGES_PER_DRAWN = 3;
const AIMS = { flashBytes: 3_072, stateBytes: 96, cycles: 3_000, es5Bytes: 12_000 };
const NAME_WIDTH = 54;

function tell(name: string, value: number, unit: string, aim?: number): void {
  const words =
    aim === undefined ? "" : `  aim ${aim.toLocaleString("en")}: ${value <= aim ? "kept" : "MISSED"}`;
  console.log(
    `${name.padEnd(NAME_WIDTH)} ${value.toLocaleString("en").padStart(8)} ${unit.padEnd(6)}${words}`,
  );
}

function tellCore(drawn: number, renew: boolean): void {
  const folder = shipped("dist/firmware");
  mkdirSync(folder, { recursive: true });
  const sizes = coreSizes(folder);
  const compiled = compileSteps(folder);
  if (renew && compiled !== undefined) copyFileSync(compiled, SHIPPED_STEPS);
  console.log("The core alone, on an ATmega328P, compiled for size");
  if (sizes === undefined) console.log("flash is left out: avr-gcc is not installed");
  for (const [index, { what, flashBytes }] of (sizes ?? []).entries()) {
    tell(`flash: ${what}`, flashBytes, "bytes", index === 0 ? AIMS.flashBytes : undefined);
  }
  const bench = new StepBench(readHex(readFileSync(compiled ?? SHIPPED_STEPS, "utf8"), FLASH_BYTES));
  const { state, tally, settings } = bench.sizes;
  tell("RAM: pacing state, without tallies", state - tally, "bytes", AIMS.stateBytes);
  tell("RAM: tallies", tally, "bytes");
  tell("RAM: settings", settings, "bytes");
  const found = SEEDS.map((seed) =>
    searchDearest(bench, { seed, drawn, changes: CHANGES_PER_DRAWN * drawn }),
  );
  const [worst] = found.map(({ dearest }) => dearest).sort((a, b) => b.cycles - a.cycles);
  if (worst === undefined) return;
  tell("dearest step found, with its call", worst.cycles, "cycles", AIMS.cycles);
  tell("  at 16 MHz", Math.ceil((worst.cycles * 1e6) / CYCLES_PER_SECOND), "µs");
  console.log(`  ${wordsForStep(worst)}`);
  const steps = found.reduce((sum, each) => sum + each.steps, 0);
  console.log(
    `  of ${steps.toLocaleString("en")} steps, drawn from seeds ${SEEDS.join(", ")} and changed for the worse`,
  );
  const each = KINDS.map((kind, i) => `${kind} ${bench.mostCycles[i] ?? 0}`).join(", ");
  console.log(`  at most by input: ${each}`);
  tell("deepest stack of a step, below its caller", bench.stackBytes, "bytes");
}

async function tellImage(name: string, path: string): Promise<void> {
  if (!existsSync(path)) {
    console.log(`${name} is left out: it has not been built`);
    return;
  }
  const { flashBytes, staticBytes, stackBytes } = await imageMemory(path);
  tell(`${name}: flash, of ${FLASH_BYTES}`, flashBytes, "bytes");
  tell(`${name}: static RAM, of ${RAM_BYTES}`, staticBytes, "bytes");
  tell(`${name}: deepest stack in use`, stackBytes, "bytes");
}

async function tellEs5(): Promise<void> {
  const { files, heaps, missing } = await es5Figures();
  for (const { name, bytes, gzipBytes } of files) {
    const aim = name === "core.min.cjs" ? AIMS.es5Bytes : undefined;
    tell(name, bytes, "bytes", aim);
    tell("  compressed", gzipBytes, "bytes");
  }
  for (const { engine, file, bareBytes, loadedBytes, ranBytes } of heaps) {
    tell(`heap of ${engine} for ${file}, loaded`, loadedBytes - bareBytes, "bytes");
    tell("  and with a pacer that has run", ranBytes - bareBytes, "bytes");
  }
  for (const words of missing) console.log(`left out: ${words}`);
}

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: { drawn: { type: "string", default: "600" }, prebuilt: { type: "boolean", default: false } },
  });
  tellCore(Number(values.drawn), values.prebuilt);
  console.log("\nThe shipped images, in use");
  await tellImage("controller", shipped(CONTROLLER_IMAGE));
  await tellImage("fixture", shipped(FIXTURE_IMAGE));
  console.log("\nThe ES5 files");
  await tellEs5();
}

await main();
