/**
 * How fast is a side, and what does it take from the heap? Bench.
 *
 * Speed: processor time, with that of the threads that collect garbage and compile, so that what else the machine
 * does is not counted; the median of rounds in which every side runs the same log in turn. (A benchmark library takes
 * wall time, and one function to its end before the next.) No collection is forced between rounds: it would
 * throw away compiled code, and charge the quick sides with compiling it again.
 * Allocated: V8's sampling heap profiler, which sees what the collector has already taken back too; an estimate,
 * good to a few percent. Kept: the heap after a forced collection late in the run less the same early in it.
 */
import { Session as Inspector, type HeapProfiler } from "node:inspector";
import type { Log, Side, Tally } from "./log.js";

const WARM_UP_MICROS = 500_000;
const ROUNDS = 15;
/** Least processor time that a side runs within a round. */
const ROUND_MILLIS = 40;
const SAMPLING_BYTES = 4_096;

/** What a side was measured at. */
export interface Measured {
  readonly name: string;
  readonly tally: Tally;
  /** Median over the rounds. */
  readonly nanosPerInput: number;
  readonly allocatedBytesPerInput: number;
  readonly keptBytesPerInput: number;
}

/** Measures the speed of all sides on `log`, and what they take from the heap on `longLog`. */
export function measureSides(sides: readonly Side[], log: Log, longLog: Log): Measured[] {
  const passes = sides.map((side) => warmUp(side, log));
  const rounds = Array.from({ length: ROUNDS }, () =>
    sides.map((side, i) => timePasses(side, log, passes[i] as number)),
  );
  return sides.map((side, i) => ({
    name: side.name,
    tally: runThrough(side, log),
    nanosPerInput: median(rounds.map((round) => round[i] as number)),
    allocatedBytesPerInput: allocatedBytes(side, longLog),
    keptBytesPerInput: keptBytes(side, longLog),
  }));
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}

function runThrough(side: Side, log: Log): Tally {
  const session = side.start(log);
  session.runTo(log.endMillis);
  return session.tally;
}

/** Lets the compiler settle; tells how many passes fill a round. */
function warmUp(side: Side, log: Log): number {
  const endMicros = process.cpuUsage().user + WARM_UP_MICROS;
  let nanos = timePasses(side, log, 1);
  while (process.cpuUsage().user < endMicros) nanos = Math.min(nanos, timePasses(side, log, 1));
  return Math.ceil((ROUND_MILLIS * 1e6) / (nanos * log.length));
}

/** Nanoseconds per input. */
function timePasses(side: Side, log: Log, passes: number): number {
  const start = process.cpuUsage();
  for (let pass = 0; pass < passes; pass++) runThrough(side, log);
  const { user, system } = process.cpuUsage(start);
  return ((user + system) * 1e3) / (passes * log.length);
}

function allocatedBytes(side: Side, log: Log): number {
  const inspector = new Inspector();
  inspector.connect();
  let bytes = NaN;
  inspector.post("HeapProfiler.startSampling", {
    samplingInterval: SAMPLING_BYTES,
    includeObjectsCollectedByMajorGC: true,
    includeObjectsCollectedByMinorGC: true,
  } as HeapProfiler.StartSamplingParameterType);
  runThrough(side, log);
  inspector.post("HeapProfiler.stopSampling", (_, { profile }) => {
    bytes = sumBytes(profile.head);
  });
  inspector.disconnect();
  return bytes / log.length;
}

function sumBytes(node: HeapProfiler.SamplingHeapProfileNode): number {
  return node.children.reduce((sum, child) => sum + sumBytes(child), node.selfSize);
}

/** Growth of the heap over the last three quarters of one run. */
function keptBytes(side: Side, log: Log): number {
  const session = side.start(log);
  const early = Math.floor(log.length / 4);
  session.runTo(log.atMillis[early] as number);
  const before = heapAfterCollection();
  session.runTo(log.endMillis);
  const kept = heapAfterCollection() - before;
  // The session is used once more here, or it could be collected before the heap is looked at.
  return session.tally.sumMillis >= 0 ? kept / (log.length - early) : NaN;
}

function heapAfterCollection(): number {
  collectGarbage();
  return process.memoryUsage().heapUsed;
}

function collectGarbage(): void {
  if (globalThis.gc === undefined) throw new Error("Run node with --expose-gc, as npm run bench does.");
  globalThis.gc();
}
