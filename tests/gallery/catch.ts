/**
 * Which law catches a mistake, in which stimulus, and what is the least that shows it? Test support.
 *
 * The suite as `verify` plays it, over the link byte for byte, one stimulus after another until one breaks a law: that
 * one must name the mistake.
 */
import type { Device, StartRun } from "../../harness/device.js";
import { openMockTransport } from "../../harness/devices/mock.js";
import { connect } from "../../harness/link/client.js";
import type { Passage } from "../../harness/stimuli/passage.js";
import { SCENARIOS } from "../../harness/stimuli/scenarios.js";
import type { Counterexample } from "../../harness/verify/report.js";
import { verifyDevice, type VerifyOptions } from "../../harness/verify/verify.js";
import type { LawName } from "../../lib/laws/index.js";
import { HOUR, type Micros, type Settings } from "../../lib/pacing/index.js";
import { type Mistake, settingsFor } from "./mistake.js";
import { runOf } from "./run.js";

export interface Catch {
  readonly mistake: Mistake;
  /** Laws that the first failing stimulus broke; empty if none failed. */
  readonly broken: readonly LawName[];
  /** Runs that the device could not finish before. */
  readonly faults: readonly string[];
  readonly counterexample?: Counterexample;
  /** What it took on the bench's own clock, in milliseconds. */
  readonly millis: number;
}

export interface CatchOptions {
  /** Generated stimuli. */
  readonly runs: number;
  readonly seed: number;
  /** Whether the scenario of 65,536 contacts is played, if nothing else has shown the mistake. */
  readonly long: boolean;
}

/** Most passages that a counterexample may have. */
const PASSAGES_MOST = 8;
const LONG_SCENARIO = "many-contacts";
const LIMITS = { triesMost: 400, deviceMicrosMost: 10_000 * HOUR };
/** Each try of the long scenario takes seconds, and a single run of contacts is as short as it gets. */
const LONG_LIMITS = { triesMost: 3, deviceMicrosMost: 10_000 * HOUR };

/** A run in this process as a device over the mock link. */
export async function overTheLink(start: StartRun): Promise<Device> {
  return connect(await openMockTransport(start));
}

export async function catchMistake(mistake: Mistake, options: CatchOptions): Promise<Catch> {
  const startMillis = performance.now();
  const settings = settingsFor(mistake);
  const device = await overTheLink(runOf(mistake.firmware));
  const faults: string[] = [];
  const end = (rest: Pick<Catch, "broken" | "counterexample">): Catch => ({
    mistake,
    faults,
    millis: performance.now() - startMillis,
    ...rest,
  });
  try {
    for (const request of requestsOf(options)) {
      const report = await verifyDevice(device, settings, request);
      for (const { fault, name } of report.stimuli) if (fault) faults.push(`${name}: ${fault.message}`);
      const broken = report.laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
      if (broken.length === 0) continue;
      const counterexample = report.counterexamples.find(({ law }) => law === mistake.law);
      return end({ broken, ...(counterexample && { counterexample }) });
    }
  } finally {
    await device.close();
  }
  return end({ broken: [] });
}

function* requestsOf({ runs, seed, long }: CatchOptions): Iterable<VerifyOptions> {
  for (const { name } of SCENARIOS) {
    if (name !== LONG_SCENARIO) yield { scenarios: [name], shrinkLimits: LIMITS };
  }
  yield { scenarios: [], runs, seed, shrinkLimits: LIMITS };
  if (long) yield { scenarios: [LONG_SCENARIO], shrinkLimits: LONG_LIMITS };
}

/** What is amiss with a catch: missed, misnamed, too long; undefined if all is well. */
export function amissWith({ mistake, broken, counterexample, faults }: Catch): string | undefined {
  if (broken.length === 0) return `missed${faults.map((fault) => `; ${fault}`).join("")}`;
  if (!broken.includes(mistake.law)) return `misnamed: ${broken.join(", ")}`;
  const others = othersOf({ mistake, broken }).filter((law) => mistake.also?.includes(law) !== true);
  if (others.length > 0) return `also names ${others.join(", ")}`;
  const passages = counterexample?.stimulus.passages.length ?? Infinity;
  return passages > PASSAGES_MOST ? `a counterexample of ${passages} events` : undefined;
}

/** The laws that broke beside the one that names the mistake. */
export function othersOf({ mistake, broken }: Pick<Catch, "mistake" | "broken">): LawName[] {
  return broken.filter((law) => law !== mistake.law);
}

/** A counterexample in short words. */
export function wordsFor({ stimulus, way }: Counterexample): string {
  const words = stimulus.passages.map(wordsForPassage);
  if (stimulus.startMicros !== undefined) words.unshift(`clock at ${seconds(stimulus.startMicros)}`);
  return words.join(", ") + (way === "as it is" ? "" : ` (${way})`);
}

function wordsForPassage(passage: Passage): string {
  const after = passage.afterMicros === 0 ? "" : ` after ${seconds(passage.afterMicros)}`;
  if (passage.kind === "event") {
    const { event } = passage;
    const cause = "cause" in event ? ` ${event.cause}` : "";
    const ratio = event.kind === "settings" ? ` ${ratioOf(event.settings)}` : "";
    return `${event.kind}${cause}${ratio}${after}`;
  }
  const what = passage.kind === "contacts" ? "contact" : "closure";
  if (passage.count === 1) return `1 ${what}${after}`;
  return `${passage.count} ${what}s every ${seconds(passage.everyMicros)}${after}`;
}

function ratioOf({ strokes, contacts }: Settings): string {
  return `${strokes}:${contacts}`;
}

function seconds(micros: Micros): string {
  return `${micros / 1_000_000} s`;
}
