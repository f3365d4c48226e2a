/**
 * Does this device dose in proportion? Plays every stimulus, judges by the laws, and shrinks what breaks one.
 *
 * Harness layer; no I/O but the device's, and no chance but the seed. A law holds only if some run had it to look at.
 */
import { LAW_NAMES, type LawName } from "../../lib/laws/index.js";
import { HOUR, type Micros, MINUTE, type Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { Device, DeviceAbout } from "../device.js";
import { type Gathered, lawText } from "./merge.js";
import { plan, type Planned, type PlanRequest } from "./plan.js";
import type { Counterexample, LawResult, Skipped, StimulusResult, VerifyReport } from "./report.js";
import { unseenLaws } from "./seen.js";
import { type Failure, newSession, type Session } from "./session.js";
import { shrink, type ShrinkLimits } from "./shrink.js";

export interface VerifyOptions extends PlanRequest {
  /** How far off a time stamp may be, in µs; default by {@link defaultTolerance}. */
  readonly toleranceMicros?: Micros;
  /** Default by {@link defaultShrinkLimits}. */
  readonly shrinkLimits?: ShrinkLimits;
  /** Stops it; the device is left idle. */
  readonly signal?: AbortSignal;
  readonly watch?: Watch;
}

/** Told how far it is. */
export interface Watch {
  readonly begins: (name: string, index: number, of: number) => void;
  readonly event: (event: TraceEvent) => void;
  readonly shrinks: (law: LawName, tries: number, passages: number) => void;
}

export const DEFAULT_SEED = 1;
const FIXTURE_TOLERANCE: Micros = 20_000;
const LIMITS: { readonly [clock in DeviceAbout["clock"]]: ShrinkLimits } = {
  virtual: { triesMost: 3_000, deviceMicrosMost: 100_000 * HOUR },
  real: { triesMost: 150, deviceMicrosMost: 15 * MINUTE },
};

/** 20 ms for a fixture's inputs; 0 in process and where virtual time has ticks of 1 µs; else one tick. */
export function defaultTolerance({ role, clock, tickMicros }: DeviceAbout): Micros {
  if (role === "fixture") return FIXTURE_TOLERANCE;
  return role === "in process" || (clock === "virtual" && tickMicros === 1) ? 0 : tickMicros;
}

/** How shrinking is bounded on a device. */
export function defaultShrinkLimits({ clock }: DeviceAbout): ShrinkLimits {
  return LIMITS[clock];
}

/** Verifies. Resolves whatever the device does. */
export async function verifyDevice(
  device: Device,
  settings: Settings,
  options: VerifyOptions = {},
): Promise<VerifyReport> {
  const { about } = device;
  const { watch, signal } = options;
  const toleranceMicros = options.toleranceMicros ?? defaultTolerance(about);
  const unseen = unseenLaws(about, settings);
  const session = newSession({ device, toleranceMicros, signal, watch: watch?.event }, unseen);
  const planned = plan(about, settings, options);
  const skipped: Skipped[] = [...planned.skipped];
  const stimuli: StimulusResult[] = [];
  for (const [index, each] of planned.stimuli.entries()) {
    const reason = session.whyOver();
    if (reason === undefined) {
      watch?.begins(each.name, index, planned.stimuli.length);
      stimuli.push(await session.play(each));
    } else skipped.push({ name: each.name, reason });
  }
  const counterexamples = await shrinkAll(session, about, options);
  return {
    device: about,
    settings,
    toleranceMicros,
    seed: options.seed ?? DEFAULT_SEED,
    stimuli,
    skipped,
    laws: LAW_NAMES.map((law) => lawResult(law, session.seen, unseen, planned.stimuli)),
    counterexamples,
    repeats: session.repeats(),
    deviceMicros: session.deviceMicros(),
    isGivenUp: signal?.aborted === true,
  };
}

/** 1 if a law is broken; 3 if the device failed, or a law that should have been seen, or any dose, was not; else 0. */
export function statusOfReport({ device, laws, stimuli, isGivenUp }: VerifyReport): 0 | 1 | 3 {
  if (laws.some(({ answer }) => answer === "broken")) return 1;
  // A device that will not have its dose looked at is never said to dose in proportion.
  const isOpen =
    !device.laws.has("proportion") ||
    laws.some(({ answer }) => answer === "cannot tell") ||
    laws.every(({ answer }) => answer !== "holds");
  return isOpen || isGivenUp || stimuli.some(({ fault }) => fault !== undefined) ? 3 : 0;
}

/** In the order of the laws. */
async function shrinkAll(
  session: Session,
  { clock }: DeviceAbout,
  options: VerifyOptions,
): Promise<Counterexample[]> {
  const found: Counterexample[] = [];
  const failures = LAW_NAMES.flatMap((law) => session.failures.get(law) ?? []);
  // On a clock that runs by itself one counterexample is worth the waiting, not fifteen.
  for (const failure of clock === "real" ? failures.slice(0, 1) : failures) {
    found.push(await shrinkOne(session, failure, options.shrinkLimits ?? LIMITS[clock], options));
  }
  return found;
}

async function shrinkOne(
  session: Session,
  { name, trial, verdict }: Failure,
  limits: ShrinkLimits,
  { watch, signal }: VerifyOptions,
): Promise<Counterexample> {
  const { law } = verdict;
  let seen = verdict;
  let isLost = false as boolean;
  const shrunk = await shrink(
    trial.stimulus,
    verdict.brokenAtMicros ?? 0,
    async (stimulus) => {
      if (isLost || signal?.aborted === true) return undefined;
      const judged = await session.attempt({ ...trial, stimulus });
      // A device that dies while it is being asked again takes nothing from what it has shown.
      isLost = !judged.ok && ["unplugged", "silent", "given-up"].includes(judged.fault.kind);
      const again = judged.ok ? judged.verdicts.find((each) => each.law === law) : undefined;
      if (again?.answer !== "broken") return undefined;
      seen = again;
      return again.brokenAtMicros ?? 0;
    },
    limits,
    (best, tries) => watch?.shrinks(law, tries, best.passages.length),
  );
  return {
    law,
    from: name,
    settings: trial.settings,
    stimulus: shrunk.stimulus,
    before: trial.stimulus,
    way: trial.way,
    brokenAtMicros: seen.brokenAtMicros ?? 0,
    evidence: seen.evidence ?? "",
    tries: shrunk.tries,
    isMinimal: shrunk.isMinimal && !isLost && signal?.aborted !== true,
  };
}

/** Not seen is told apart from cannot tell by whether a stimulus that was played is there to show it. */
function lawResult(
  law: LawName,
  seen: Gathered,
  unseen: ReadonlyMap<LawName, string>,
  stimuli: readonly Planned[],
): LawResult {
  const merged = { ...lawText(law), ...seen.of(law) };
  const reason = unseen.get(law);
  if (reason !== undefined) return { ...merged, answer: "not seen", evidence: reason };
  if (merged.answer !== "cannot tell" || stimuli.some(({ shows }) => shows.includes(law))) return merged;
  return { ...merged, answer: "not seen", evidence: "none of the stimuli that were played shows it" };
}
