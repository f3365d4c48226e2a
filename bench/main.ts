/**
 * `npm run bench [-- --most N]`: what does the pacer cost beside other ways to write it, how long does a plan
 * take, what does the link carry, and do the pipe and `simulate` scale?
 *
 * Bench. Prints tables for people and, last, the figures that README may quote. Nothing here is a gate on absolute
 * time; the exit status is 1 only where two sides, or two transports, did not make the same strokes, which would make
 * the rest void.
 */
import { parseArgs } from "node:util";
import { reportLab } from "./lab.js";
import { inventLog } from "./log.js";
import { reportLink } from "./link.js";
import { type Measured, measureSides } from "./measure.js";
import { reportPipe } from "./pipe.js";
import { reportPlan } from "./plan.js";
import { runReport } from "./report.js";
import { isSimulateBuilt, runSimulate, type SimulateRun } from "./simulate.js";
import { bareFeedSide } from "./sides/feed.js";
import { machineSide } from "./sides/machine.js";
import { naiveSide } from "./sides/naive.js";
import { operatorSide } from "./sides/operator.js";
import { inPlaceSide, pureSide } from "./sides/step.js";

const SEED = 1;
const SIDES = [inPlaceSide, pureSide, operatorSide, naiveSide, machineSide] as const;
/** Long enough that what one input keeps stands out from what the heap moves by of itself. */
const LONG_DAYS = 20;
const LEAST_TIMES_IN_PLACE = 30;
const LEAST_TIMES_PURE = 8;
const MOST_PEAK_BYTES = 200e6;
const MOST_REPORT_BYTES = 10e6;
const MOST_PAINT_MILLIS = 2_000;
/** Less than the smallest object for every eight inputs is what the heap moves by of itself. */
const NO_GROWTH_BYTES = 2;
/** Dearest further contact over cheapest that still counts as flat. */
const FLAT_TIMES = 1.5;

const { values } = parseArgs({ options: { most: { type: "string", default: "10000000" } } });
const mostContacts = Number(values.most);
if (!(mostContacts >= 1_000_000)) {
  process.stderr.write(
    `--most is "${values.most}". Mend: give a million contacts or more; fewer cannot show a trend.\n`,
  );
  process.exit(2);
}
const steps = reportSides();
print("");
const planned = reportPlan();
print("");
const piped = reportPipe();
print("");
const linked = await reportLink();
print("");
const labs = reportLab();
const simulated = await reportSimulate(mostContacts);
print("");
const drawn = await reportReport();
print(
  "",
  "Figures to quote",
  ...[...steps, ...planned, ...piped, ...linked, ...labs, ...simulated, ...drawn].map((line) => `  ${line}`),
);

function reportSides(): string[] {
  const log = inventLog(SEED, 1);
  const [inPlace, pure, operator, naive, machine, bare] = measureSides(
    [...SIDES, bareFeedSide],
    log,
    inventLog(SEED, LONG_DAYS),
  ) as [Measured, Measured, Measured, Measured, Measured, Measured];
  const sides = [inPlace, pure, operator, naive, machine];
  const { paced, primed } = naive.tally;
  const agree = sides.every(({ tally }) => JSON.stringify(tally) === JSON.stringify(naive.tally));
  print(
    `One invented day (seed ${SEED}): ${log.length} inputs, 3 strokes for 2 contacts, 600 strokes a minute, ` +
      `${paced} paced and ${primed} primed strokes.`,
    `Strokes of all sides equal, in number and in time: ${agree ? "yes" : "NO"}`,
    "",
  );
  if (!agree) {
    process.exitCode = 1;
    for (const { name, tally } of sides) print(`  ${name}: ${JSON.stringify(tally)}`);
  }
  print(
    row("", "inputs/s *", "ns/input *", "x naive", "allocated B/input", "kept B/input"),
    ...[...sides, bare].map((side) => sideRow(side, naive)),
    `* of processor time, all threads; bytes over ${LONG_DAYS} such days`,
    "",
  );
  const times = timesFaster(inPlace, naive);
  const timesPure = timesFaster(pure, naive);
  print(
    verdict(
      `step in place at least ${LEAST_TIMES_IN_PLACE} times the naive pipeline`,
      times >= LEAST_TIMES_IN_PLACE,
      fixed(times),
    ),
    verdict(
      `pure step at least ${LEAST_TIMES_PURE} times the naive pipeline`,
      timesPure >= LEAST_TIMES_PURE,
      fixed(timesPure),
    ),
    verdict(
      "step in place keeps no heap per input",
      inPlace.keptBytesPerInput < NO_GROWTH_BYTES,
      `${fixed(inPlace.keptBytesPerInput)} B kept, ${fixed(inPlace.allocatedBytesPerInput)} B allocated`,
    ),
    `Operator: ${fixed(operator.nanosPerInput - pure.nanosPerInput)} ns per input beside the pure step that it runs, ` +
      `of which the feed in virtual time is ${fixed(bare.nanosPerInput)} ns.`,
  );
  return [
    `step in place: ${fixed(times)} times the naive RxJS pipeline, ${fixed(timesFaster(inPlace, machine))} times the state machine`,
    `pure step: ${fixed(timesPure)} times the naive RxJS pipeline, ${fixed(timesFaster(pure, machine))} times the state machine`,
    `our operator: ${fixed(timesFaster(operator, naive))} times the naive RxJS pipeline; ` +
      `the pure step alone is ${fixed(timesFaster(pure, operator))} times the operator`,
  ];
}

async function reportSimulate(most: number): Promise<string[]> {
  print("", "simulate, as its own process, on logs of contacts");
  if (!isSimulateBuilt()) {
    print("  not built");
    return [];
  }
  print(row("contacts", "processor s", "wall s", "us/contact *", "peak MB"));
  const runs: SimulateRun[] = [await runSimulate(1)];
  for (let contacts = 10_000; contacts <= most; contacts *= 10) runs.push(await runSimulate(contacts));
  for (const [i, run] of runs.entries()) print(simulateRow(run, runs[i - 1]));
  print("* processor time of each contact beyond those of the row above");
  // Up to 10 thousand contacts the compiler is still at work, which is not the cost of a contact.
  const costs = runs.slice(2).map((run, i) => microsPerContact(run, runs[i + 1] as SimulateRun));
  const dearest = Math.max(...costs) / Math.min(...costs);
  const peakBytes = Math.max(...runs.map((run) => run.peakBytes));
  print(
    verdict(
      `each further contact costs the same, within ${FLAT_TIMES} times`,
      dearest <= FLAT_TIMES,
      `${fixed(dearest, 2)} times`,
    ),
    verdict(
      `peak memory below ${MOST_PEAK_BYTES / 1e6} MB`,
      peakBytes < MOST_PEAK_BYTES,
      `${fixed(peakBytes / 1e6)} MB`,
    ),
  );
  return [
    `simulate: from 10 thousand to ${most} contacts the dearest is ${fixed(dearest, 2)} times the cheapest; ` +
      `peak memory ${fixed((100 * peakBytes) / MOST_PEAK_BYTES, 0)} % of 200 MB`,
  ];
}

async function reportReport(): Promise<string[]> {
  if (!isSimulateBuilt()) return [];
  const { made, bytes, opened } = await runReport();
  print(
    `A report of ${made.contacts} contacts: made in ${fixed(made.wallMillis / 1e3)} s with ${fixed(made.peakBytes / 1e6)} MB at most`,
    verdict(`below ${MOST_REPORT_BYTES / 1e6} MB`, bytes < MOST_REPORT_BYTES, `${fixed(bytes / 1e6)} MB`),
  );
  if (opened === undefined) {
    print("  not opened: there is no browser");
    return [];
  }
  const { paintMillis, readyMillis, zoomMillis } = opened;
  print(
    verdict(
      `first paint below ${MOST_PAINT_MILLIS / 1e3} s`,
      paintMillis < MOST_PAINT_MILLIS,
      `${fixed(paintMillis, 0)} ms; can be zoomed after ${fixed(readyMillis, 0)} ms; a zoom takes ${fixed(zoomMillis)} ms`,
    ),
  );
  return [
    `report of ${made.contacts} contacts: ${fixed((100 * bytes) / MOST_REPORT_BYTES, 0)} % of ${MOST_REPORT_BYTES / 1e6} MB, ` +
      `first paint after ${fixed((100 * paintMillis) / MOST_PAINT_MILLIS, 0)} % of ${MOST_PAINT_MILLIS / 1e3} s`,
  ];
}

function simulateRow(run: SimulateRun, before: SimulateRun | undefined): string {
  return row(
    String(run.contacts),
    fixed(run.processorMicros / 1e6, 2),
    fixed(run.wallMillis / 1e3, 2),
    before === undefined ? "" : fixed(microsPerContact(run, before), 2),
    fixed(run.peakBytes / 1e6),
  );
}

/** What each contact of `run` beyond those of `before` cost. */
function microsPerContact(run: SimulateRun, before: SimulateRun): number {
  return (run.processorMicros - before.processorMicros) / (run.contacts - before.contacts);
}

/** How many times longer `slow` takes for an input than `fast`. */
function timesFaster(fast: Measured, slow: Measured): number {
  return slow.nanosPerInput / fast.nanosPerInput;
}

function sideRow(side: Measured, naive: Measured): string {
  return row(
    side.name,
    Math.round(1e9 / side.nanosPerInput).toLocaleString("en"),
    fixed(side.nanosPerInput, 0),
    fixed(timesFaster(side, naive), 2),
    fixed(side.allocatedBytesPerInput),
    fixed(side.keptBytesPerInput),
  );
}

function row(first: string, ...cells: readonly string[]): string {
  return first.padEnd(32) + cells.map((cell) => cell.padStart(18)).join("");
}

function verdict(expected: string, met: boolean, measured: string): string {
  return `${met ? "met   " : "MISSED"}  expected: ${expected}; measured: ${measured}`;
}

function fixed(value: number, decimals = 1): string {
  return value.toFixed(decimals);
}

function print(...lines: readonly string[]): void {
  for (const line of lines) process.stdout.write(`${line}\n`);
}
