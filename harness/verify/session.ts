/**
 * What has been seen on this device so far? Plays stimulus after stimulus and keeps what they showed. Harness layer.
 *
 * A run in which the device failed says nothing: it is repeated from a fresh start, and if that does not help, told.
 */
import { LAW_NAMES, type LawName, type Verdict } from "../../lib/laws/index.js";
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { DeviceFault } from "../device.js";
import { eventsOf, type Stimulus } from "../stimuli/passage.js";
import { gather, type Gathered } from "./merge.js";
import type { Planned } from "./plan.js";
import type { Shown, StimulusResult } from "./report.js";
import { adapted, type Bench, judge, type Judged, type Trial, variantsOf, waysFor } from "./trial.js";

/** A run that the device could not finish is begun again so often. */
export const REPEATS_MOST = 2;
/** After so many stimuli that the device could not finish the rest is not begun. */
const FAILED_MOST = 3;

/** A run that broke a law; of several the shortest. */
export interface Failure {
  readonly name: string;
  readonly trial: Trial;
  readonly verdict: Verdict;
}

export interface Session {
  /** Plays one stimulus in all its ways. */
  play(planned: Planned): Promise<StimulusResult>;
  /** One run, begun again after a fault. */
  attempt(trial: Trial, reference?: readonly TraceEvent[]): Promise<Judged>;
  /** Why nothing more should be played; undefined where something may. */
  whyOver(): string | undefined;
  readonly seen: Gathered;
  readonly failures: ReadonlyMap<LawName, Failure>;
  repeats(): number;
  deviceMicros(): Micros;
}

export function newSession(bench: Bench, unseen: ReadonlyMap<LawName, string>): Session {
  const { about } = bench.device;
  const failures = new Map<LawName, Failure>();
  const seen = gather();
  let repeats = 0;
  let deviceMicros: Micros = 0;
  let lastFault: DeviceFault | undefined;
  let failed = 0;
  let isSilent = false;

  const attempt: Session["attempt"] = async (trial, reference) => {
    for (let repeat = 0; ; repeat++) {
      const judged = await judge(bench, trial, reference);
      deviceMicros += judged.deviceMicros;
      if (judged.ok) return judged;
      lastFault = judged.fault;
      // What the controller itself says that it cannot do is no fault of the line, and stands.
      if (["given-up", "failed"].includes(judged.fault.kind) || repeat === REPEATS_MOST) return judged;
      repeats += 1;
    }
  };

  /** Judges one run into both tallies; a fault, if it stayed. */
  const take = async (name: string, trial: Trial, into: Gathered, reference?: readonly TraceEvent[]) => {
    const judged = await attempt(trial, reference);
    if (!judged.ok) return judged;
    const visible = judged.verdicts.filter(({ law }) => !unseen.has(law));
    into.add(visible, judged, name);
    seen.add(visible, judged, name);
    for (const verdict of visible) {
      const known = failures.get(verdict.law);
      const isShorter = known === undefined || sizeOf(trial.stimulus) < sizeOf(known.trial.stimulus);
      if (verdict.answer === "broken" && isShorter) failures.set(verdict.law, { name, trial, verdict });
    }
    return judged;
  };

  const playAll = async (
    { name, ways }: Planned,
    settings: Settings,
    given: Stimulus,
    into: Gathered,
  ): Promise<DeviceFault | undefined> => {
    const stimulus = adapted(given, settings, about);
    const first = await take(name, { settings, stimulus, way: "as it is" }, into);
    if (!first.ok) return first.fault;
    for (const way of ways ?? waysFor(about)) {
      // What breaks even when every wake-up is on time says nothing of lateness.
      if (way === "as it is" || (way === "with late wake-ups" && isSick(first.verdicts))) continue;
      const varied = await take(name, { settings, stimulus, way }, into, first.trace);
      if (!varied.ok) return varied.fault;
    }
    const variants =
      ways === undefined && about.clock === "virtual" ? variantsOf(stimulus, settings, about) : [];
    for (const variant of variants) {
      const varied = await take(name, { settings, stimulus: variant, way: "as it is" }, into);
      if (!varied.ok) return varied.fault;
    }
    return undefined;
  };

  return {
    attempt,
    seen,
    failures,
    repeats: () => repeats,
    deviceMicros: () => deviceMicros,
    whyOver() {
      if (lastFault?.kind === "given-up") return "it was stopped";
      if (lastFault?.kind === "unplugged") return "the device had gone away";
      // It was begun again and again, with all the patience of the link: more of the same would only take hours.
      if (isSilent) return "the device had fallen silent";
      return failed >= FAILED_MOST ? `the device had failed in ${FAILED_MOST} stimuli before it` : undefined;
    },
    async play(planned) {
      const into = gather();
      const before = { repeats, deviceMicros };
      let fault: DeviceFault | undefined;
      for (const { settings, stimulus } of planned.runs()) {
        fault = await playAll(planned, settings, stimulus, into);
        if (fault !== undefined) break;
      }
      if (fault !== undefined) failed += 1;
      isSilent = fault?.kind === "silent";
      return {
        name: planned.name,
        runs: planned.count,
        own: planned.own,
        laws: LAW_NAMES.map((law) => shownIn(law, into, unseen)),
        repeats: repeats - before.repeats,
        deviceMicros: deviceMicros - before.deviceMicros,
        ...(fault === undefined ? {} : { fault }),
      };
    },
  };
}

function sizeOf({ passages }: Stimulus): number {
  return eventsOf(passages).length;
}

function isSick(verdicts: readonly Verdict[]): boolean {
  return verdicts.some(({ law, answer }) => (law === "cap" || law === "balance") && answer === "broken");
}

function shownIn(law: LawName, into: Gathered, unseen: ReadonlyMap<LawName, string>): Shown {
  const reason = unseen.get(law);
  const shown = into.of(law);
  return reason === undefined ? shown : { ...shown, answer: "not seen", evidence: reason };
}
