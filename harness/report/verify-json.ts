/**
 * What does a verification tell a machine? One object, whose names stay. Harness layer. The same seed on the same virtual
 * device gives the same object.
 */
import { type Micros, SECOND } from "../../lib/pacing/index.js";
import { formatRow } from "../../lib/trace/index.js";
import { showSettings } from "../files/settings.js";
import { eventsOf, untilOf } from "../stimuli/passage.js";
import type { LawResult, Shown, StimulusResult, VerifyReport } from "../verify/report.js";
import { statusOfReport } from "../verify/verify.js";
import type { Kept } from "./verify-summary.js";

const VERDICTS = { 0: "holds", 1: "broken", 3: "cannot tell" } as const;

/** The object of `verify --json`. Times are seconds of the device's own time from the start of a run. */
export function verifyObject(report: VerifyReport, kept: readonly Kept[]): object {
  const { device, settings, laws, stimuli, skipped } = report;
  return {
    verdict: VERDICTS[statusOfReport(report)],
    device: {
      spec: device.spec,
      name: device.name,
      role: device.role,
      clock: device.clock,
      tick_us: device.tickMicros,
    },
    settings: showSettings(settings),
    tolerance_s: seconds(report.toleranceMicros),
    seed: report.seed,
    laws: laws.map(lawObject),
    stimuli: stimuli.map(stimulusObject),
    skipped,
    counterexamples: kept.map(({ found, file }) => ({
      law: found.law,
      from: found.from,
      events: found.stimulus.passages.length,
      rows: eventsOf(found.stimulus.passages).map(formatRow),
      until_s: seconds(untilOf(found.stimulus)),
      played: found.way,
      settings: showSettings(found.settings),
      broken_at_s: seconds(found.brokenAtMicros),
      evidence: found.evidence,
      tries: found.tries,
      minimal: found.isMinimal,
      file,
    })),
    repeats: report.repeats,
    device_s: seconds(report.deviceMicros),
    given_up: report.isGivenUp,
  };
}

function lawObject({ number, statement, stimulus, ...shown }: LawResult): object {
  const place = stimulus === undefined ? {} : { stimulus };
  return { ...shownObject(shown), number, statement, ...place };
}

function shownObject({ law, answer, margin, unit, checked, brokenAtMicros, evidence }: Shown): object {
  return {
    law,
    held: answer === "holds",
    answer,
    margin,
    unit,
    checked,
    ...(brokenAtMicros === undefined ? {} : { broken_at_s: seconds(brokenAtMicros) }),
    ...(evidence === undefined ? {} : { evidence }),
  };
}

function stimulusObject({ name, runs, own, laws, repeats, deviceMicros, fault }: StimulusResult): object {
  return {
    name,
    runs,
    own_settings: own,
    laws: laws.map(shownObject),
    repeats,
    device_s: seconds(deviceMicros),
    ...(fault === undefined ? {} : { fault }),
  };
}

function seconds(micros: Micros): number {
  return micros / SECOND;
}
