/**
 * What does a run tell a machine? One object, whose names stay. Harness layer.
 */
import type { Verdict } from "../../lib/laws/index.js";
import { type Micros, SECOND } from "../../lib/pacing/index.js";
import type { RunReport } from "./report.js";

/** The object of `simulate --json`. Times are seconds from the start of the log. */
export function reportObject(report: RunReport): object {
  const { tally } = report;
  const dry = tally.dry();
  return {
    contacts: tally.contacts,
    earned: tally.earned,
    paced: tally.paced,
    primed: tally.primed,
    owed: tally.owed,
    remainder: tally.remainder,
    shed: tally.shed,
    ignored: tally.ignored,
    rejected: tally.rejected,
    bounces: report.bounces,
    refused: tally.refused,
    most_owed: tally.mostOwed,
    alarms: [...tally.alarms.values()].map(({ alarm, raised, firstMicros, standing }) => ({
      alarm,
      raised,
      first_s: seconds(firstMicros),
      standing,
    })),
    faults: tally.faults,
    cap: {
      strokes: tally.cap.strokes,
      stretches: tally.cap.stretches,
      first_s: tally.cap.stretches === 0 ? null : seconds(tally.cap.firstMicros),
      longest_s: seconds(tally.cap.longestMicros),
    },
    longest_water_between_strokes:
      dry === undefined
        ? null
        : {
            contacts: dry.contacts,
            from_s: seconds(dry.fromMicros),
            until_s: seconds(dry.untilMicros),
          },
    first_s: tally.firstMicros === undefined ? null : seconds(tally.firstMicros),
    last_s: tally.lastMicros === undefined ? null : seconds(tally.lastMicros),
    laws: report.verdicts.map(lawObject),
    settings: report.settings,
    versions: report.versions,
  };
}

function lawObject({ law, number, statement, answer, margin, unit, checked, ...broken }: Verdict): object {
  const { brokenAtMicros, evidence } = broken;
  return {
    law,
    number,
    held: answer === "holds",
    answer,
    margin,
    unit,
    checked,
    statement,
    ...(brokenAtMicros === undefined ? {} : { broken_at_s: seconds(brokenAtMicros) }),
    ...(evidence === undefined ? {} : { evidence }),
  };
}

function seconds(micros: Micros): number {
  return micros / SECOND;
}
