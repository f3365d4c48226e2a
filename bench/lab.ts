/**
 * Does the lab reckon a day within a frame, or is its worker needed? Bench; part of `npm run bench`.
 *
 * A frame is 16 ms at 60 a second. For each pattern, and for the busiest day that the lab takes: the pacer alone, the
 * concentration downstream, and all that one change of a field asks for (plan and answers too). While prime is held plan
 * and answers are remembered. Quickest of some rounds, processor time: what else the machine does only slows one down.
 */
import { runDay } from "../harness/lab/day.js";
import { downstreamOf } from "../harness/lab/downstream.js";
import { START_TEXTS, type Texts } from "../harness/lab/fields.js";
import { PATTERNS } from "../harness/lab/patterns.js";
import { readTexts } from "../harness/lab/read.js";
import { reckon } from "../harness/lab/reckon.js";

const ROUNDS = 15;
const FRAME_MILLIS = 16;
/** 40,000 strokes, as many as the lab takes. */
const BUSIEST: Partial<Texts> = { pattern: "steady", "contact-volume": "3.3 L" };

/** Prints a table and returns the lines that may be quoted. */
export function reportLab(): string[] {
  console.log("A day of the lab, ms of processor time, quickest");
  console.log("  day          contacts   strokes   pacer   downstream   while priming   a change");
  const days: (readonly [string, Partial<Texts>])[] = [
    ...PATTERNS.map(({ name }): [string, Partial<Texts>] => [name, { pattern: name }]),
    ["busiest", BUSIEST],
  ];
  const rows = days.map(([name, texts]) => reportDay(name, { ...START_TEXTS, ...texts }));
  const slowest = (of: (row: Row) => number): string => Math.max(...rows.map(of)).toFixed(1);
  const quotes = [
    `lab: the pacer's day in at most ${slowest(({ pacer }) => pacer)} ms, within a frame of ${FRAME_MILLIS} ms; with plan, pipe and ` +
      `answers in at most ${slowest(({ change }) => change)} ms, in a worker`,
  ];
  for (const line of quotes) console.log(line);
  return quotes;
}

interface Row {
  readonly pacer: number;
  readonly change: number;
}

function reportDay(name: string, texts: Texts): Row {
  const reading = readTexts(texts);
  if (!reading.ok) throw new Error(JSON.stringify(reading.faults));
  const { values } = reading;
  const day = runDay(values.settings, values.contacts);
  const memory = {};
  const pacer = quickest(() => runDay(values.settings, values.contacts));
  const downstream = quickest(() => downstreamOf(values, day.strokeMicros));
  const priming = quickest(() => reckon(texts, [{ onMicros: 36e9, offMicros: 36.01e9 }], memory));
  const change = quickest(() => reckon(texts, []));
  const cells = [
    String(values.contacts.length).padStart(8),
    String(day.strokeMicros.length).padStart(9),
    ...[pacer.toFixed(1).padStart(7), downstream.toFixed(1).padStart(12)],
    ...[priming.toFixed(1).padStart(15), change.toFixed(1).padStart(10)],
  ];
  console.log(`  ${name.padEnd(12)} ${cells.join(" ")}`);
  return { pacer, change };
}

function quickest(work: () => unknown): number {
  const times = Array.from({ length: ROUNDS }, () => {
    const start = process.cpuUsage();
    work();
    const { user, system } = process.cpuUsage(start);
    return (user + system) / 1_000;
  });
  return Math.min(...times);
}
