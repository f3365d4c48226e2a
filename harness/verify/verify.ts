/**
 * Does this device dose in proportion? Plays every stimulus, judges by the laws, and shrinks what breaks one.
 *
 * Harness layer; no I/O but the device's, and no chance but the seed. A law holds only if some run had it to look at. A
 * run in which the device failed says nothing: it is repeated from a fresh start, and if that does not help, told.
 */
import { LAW_NAMES, type LawName, type Verdict } from "../../lib/laws/index.js";
import { HOUR, type Micros, MINUTE, type Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { Device, DeviceAbout, DeviceFault } from "../devices/device.js";
import { eventsOf, type Stimulus } from "../stimuli/passage.js";
import { gather, type Gathered, lawText } from "./merge.js";
import { plan, type Planned, type PlanRequest } from "./plan.js";
import type { Counterexample, LawResult, Shown, Skipped, StimulusResult, VerifyReport } from "./report.js";
import { unseenLaws } from "./seen.js";
import { shrink, type ShrinkLimits } from "./shrink.js";
import { adapted, type Bench, judge, type Judged, type Trial, variantsOf, waysFor } from "./trial.js";

export interface VerifyOptions extends PlanRequest {
  /** How far off a time stamp may be, in µs; default by {@link defaultTolerance}. */
  readonly toleranceMicros?: Micros;
  readonly shrinkLimits?: ShrinkLimits;
  /** Stops it; the device is left idle. */
  readonly signal?: AbortSignal;
  readonly watch?: Watch;
}

/** Told how far it is. */
export interface Watch {
  begins(name: string, index: number, of: number): void;
  event(event: TraceEvent): void;
  shrinks(law: LawName, tries: number, passages: number): void;
}

export const DEFAULT_SEED = 1;
/** A run that the device could not finish is begun again so often. */
export const REPEATS_MOST = 2;
/** After so many stimuli that the device could not finish the rest is not begun. */
const FAILED_MOST = 3;
const FIXTURE_TOLERANCE: Micros = 20_000;
const LIMITS: { readonly [clock in DeviceAbout["clock"]]: ShrinkLimits } = {
  virtual: { triesMost: 3_000, deviceMicrosMost: 100_000 * HOUR },
  real: { triesMost: 150, deviceMicrosMost: 15 * MINUTE },
};

/** 0 where time is virtual and a tick is a microsecond, 20 ms for a fixture's inputs, else one tick. */
export function defaultTolerance({ role, clock, tickMicros }: DeviceAbout): Micros {
  if (role === "fixture") return FIXTURE_TOLERANCE;
  return role === "in process" || (clock === "virtual" && tickMicros === 1) ? 0 : tickMicros;
}

/** How shrinking is bounded on a device if nothing else is asked for. */
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
  const toleranceMicros = options.toleranceMicros ?? defaultTolerance(about);
  const { watch, signal } = options;
  const bench: Bench = {
    device,
    toleranceMicros,
    signal,
    watch:
      watch &&
      ((event) => {
        watch.event(event);
      }),
  };
  const planned = plan(about, settings, options);
  const session = newSession(bench, unseenLaws(about, settings));
  for (const [index, stimulus] of planned.stimuli.entries()) {
    if (session.isOver()) session.skip(stimulus.name, session.whyOver());
    else {
      watch?.begins(stimulus.name, index, planned.stimuli.length);
      await session.run(stimulus);
    }
  }
  const limits = options.shrinkLimits ?? LIMITS[about.clock];
  const counterexamples = await session.shrinkAll(limits, watch);
  return {
    device: about,
    settings,
    toleranceMicros,
    seed: options.seed ?? DEFAULT_SEED,
    stimuli: session.results(),
    skipped: [...planned.skipped, ...session.skipped()],
    laws: session.laws(planned),
    counterexamples,
    ...session.totals(),
  };
}

/** 1 if a law is broken; 3 if the device failed, or a law that should have been seen was not; else 0. */
export function statusOfReport({ laws, stimuli, isGivenUp }: VerifyReport): 0 | 1 | 3 {
  if (laws.some(({ answer }) => answer === "broken")) return 1;
  const isOpen =
    laws.some(({ answer }) => answer === "cannot tell") || laws.every(({ answer }) => answer !== "holds");
  return isOpen || isGivenUp || stimuli.some(({ fault }) => fault !== undefined) ? 3 : 0;
}

interface Failure {
  readonly name: string;
  readonly trial: Trial;
  readonly verdict: Verdict;
  readonly length: number;
}

interface Session {
  run(planned: Planned): Promise<void>;
  isOver(): boolean;
  whyOver(): string;
  skip(name: string, reason: string): void;
  shrinkAll(limits: ShrinkLimits, watch: Watch | undefined): Promise<Counterexample[]>;
  laws(planned: { readonly stimuli: readonly Planned[] }): LawResult[];
  results(): readonly StimulusResult[];
  skipped(): readonly Skipped[];
  totals(): Pick<VerifyReport, "repeats" | "deviceMicros" | "isGivenUp">;
}

function newSession(bench: Bench, unseen: ReadonlyMap<LawName, string>): Session {
  const { about } = bench.device;
  const results: StimulusResult[] = [];
  const skipped: Skipped[] = [];
  const failures = new Map<LawName, Failure>();
  const all = gather();
  let repeats = 0;
  let deviceMicros: Micros = 0;
  let lastFault: DeviceFault | undefined;
  let failed = 0;

  /** One trial, begun again after a fault. */
  const attempt = async (trial: Trial, reference?: readonly TraceEvent[]): Promise<Judged> => {
    for (let repeat = 0; ; repeat++) {
      const judged = await judge(bench, trial, reference);
      deviceMicros += judged.deviceMicros;
      if (judged.ok || judged.fault.kind === "given-up" || repeat === REPEATS_MOST) return judged;
      repeats += 1;
    }
  };

  const take = (name: string, trial: Trial, judged: Extract<Judged, { ok: true }>, to: Gathered): void => {
    const visible = judged.verdicts.filter(({ law }) => !unseen.has(law));
    to.add(visible, judged.strokes, name);
    all.add(visible, judged.strokes, name);
    for (const verdict of visible) {
      const length = eventsOf(trial.stimulus.passages).length;
      const known = failures.get(verdict.law);
      if (verdict.answer === "broken" && (known === undefined || length < known.length)) {
        failures.set(verdict.law, { name, trial, verdict, length });
      }
    }
  };

  /** All ways of one stimulus; the fault that stayed, if one did. */
  const playAll = async (
    planned: Planned,
    settings: Settings,
    given: Stimulus,
    to: Gathered,
  ): Promise<DeviceFault | undefined> => {
    const stimulus = adapted(given, settings, about);
    const plain: Trial = { settings, stimulus, way: "as it is" };
    const first = await attempt(plain);
    if (!first.ok) return first.fault;
    take(planned.name, plain, first, to);
    if (planned.plainOnly) return undefined;
    // What breaks even when every wake-up is on time says nothing of lateness.
    const isSick = first.verdicts.some(
      ({ law, answer }) => (law === "cap" || law === "balance") && answer === "broken",
    );
    for (const way of waysFor(about)) {
      if (way === "as it is" || (way === "with late wake-ups" && isSick)) continue;
      const trial: Trial = { settings, stimulus, way };
      const judged = await attempt(trial, first.trace);
      if (!judged.ok) return judged.fault;
      take(planned.name, trial, judged, to);
    }
    if (about.clock === "real") return undefined;
    for (const variant of variantsOf(stimulus, settings, about)) {
      const trial: Trial = { settings, stimulus: variant, way: "as it is" };
      const judged = await attempt(trial);
      if (!judged.ok) return judged.fault;
      take(planned.name, trial, judged, to);
    }
    return undefined;
  };

  return {
    async run(planned) {
      const gathered = gather();
      const before = { repeats, deviceMicros };
      let fault: DeviceFault | undefined;
      for (const { settings, stimulus } of planned.runs()) {
        fault = await playAll(planned, settings, stimulus, gathered);
        if (fault !== undefined) break;
      }
      lastFault = fault ?? lastFault;
      if (fault !== undefined) failed += 1;
      results.push({
        name: planned.name,
        runs: planned.count,
        own: planned.own,
        laws: LAW_NAMES.map((law) => shownIn(law, gathered, unseen)),
        repeats: repeats - before.repeats,
        deviceMicros: deviceMicros - before.deviceMicros,
        ...(fault === undefined ? {} : { fault }),
      });
    },
    isOver: () => failed >= FAILED_MOST || isFinal(lastFault),
    whyOver: () => (lastFault?.kind === "given-up" ? "it was stopped" : "the device had failed too often"),
    skip: (name, reason) => skipped.push({ name, reason }),
    async shrinkAll(limits, watch) {
      const found: Counterexample[] = [];
      // On a clock that runs by itself one counterexample is worth the waiting, not fifteen.
      const worth = [...failures.values()].slice(0, about.clock === "real" ? 1 : LAW_NAMES.length);
      for (const failure of worth) found.push(await shrinkOne(failure, limits, watch));
      return found.sort((a, b) => LAW_NAMES.indexOf(a.law) - LAW_NAMES.indexOf(b.law));
    },
    laws: ({ stimuli }) => LAW_NAMES.map((law) => lawResult(law, all, unseen, stimuli)),
    results: () => results,
    skipped: () => skipped,
    totals: () => ({ repeats, deviceMicros, isGivenUp: bench.signal?.aborted === true }),
  };

  async function shrinkOne(
    { name, trial, verdict }: Failure,
    limits: ShrinkLimits,
    watch: Watch | undefined,
  ): Promise<Counterexample> {
    const { law } = verdict;
    let seen = verdict;
    let isLost = isFinal(lastFault);
    const shrunk = await shrink(
      trial.stimulus,
      verdict.brokenAtMicros ?? 0,
      async (stimulus) => {
        if (isLost || bench.signal?.aborted === true) return undefined;
        const judged = await attempt({ ...trial, stimulus });
        if (!judged.ok) {
          isLost ||= isFinal(judged.fault);
          return undefined;
        }
        const again = judged.verdicts.find((each) => each.law === law);
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
      way: trial.way,
      brokenAtMicros: seen.brokenAtMicros ?? 0,
      evidence: seen.evidence ?? "",
      tries: shrunk.tries,
      isMinimal: shrunk.isMinimal && !isLost && bench.signal?.aborted !== true,
    };
  }
}

/** After these there is nothing to go on with. */
function isFinal(fault: DeviceFault | undefined): boolean {
  return fault !== undefined && ["unplugged", "given-up", "silent"].includes(fault.kind);
}

function shownIn(law: LawName, gathered: Gathered, unseen: ReadonlyMap<LawName, string>): Shown {
  const reason = unseen.get(law);
  const shown = gathered.of(law);
  return reason === undefined ? shown : { ...shown, answer: "not seen", evidence: reason };
}

/** Not seen is told apart from cannot tell by whether a stimulus that was played is there to show it. */
function lawResult(
  law: LawName,
  all: Gathered,
  unseen: ReadonlyMap<LawName, string>,
  stimuli: readonly Planned[],
): LawResult {
  const merged = all.of(law);
  const reason = unseen.get(law);
  if (reason !== undefined) return { ...lawText(law), ...merged, answer: "not seen", evidence: reason };
  const isExpected = stimuli.some(({ shows }) => shows.includes(law));
  if (merged.answer !== "cannot tell" || isExpected) return { ...lawText(law), ...merged };
  return {
    ...lawText(law),
    ...merged,
    answer: "not seen",
    evidence: "none of the stimuli that were played shows it",
  };
}
