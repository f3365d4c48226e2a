/**
 * What does a journal come to, as far as it can be read? One pass over all of it, for days, totals, log and trace. Harness
 * layer.
 *
 * A damaged part ends the pass where it stands; what was read before is kept, and the fault is told. The sum of the
 * events is held against the accounts that the feed kept itself.
 */
import { InputError } from "../files/fault.js";
import { type PlanFile, planFileIn } from "../plan/plan-file.js";
import { planInputOf } from "../plan/request.js";
import { planFeed } from "../../lib/dosing/index.js";
import { type DayRow, type FeedTerms, newDayTally } from "./export-days.js";
import { JournalError } from "./fault.js";
import type { JournalEvent, JournalNote, JournalReading, JournalRun, Tallies } from "./reading.js";

/** Told of all that is read, in the order of the journal; notes come after the events. */
export interface JournalSink {
  run?(run: JournalRun): void;
  event?(event: JournalEvent): void;
  note?(note: JournalNote): void;
}

export interface Survey {
  readonly runs: readonly JournalRun[];
  readonly days: readonly DayRow[];
  /** Undefined where nothing was recorded. */
  readonly total: DayRow | undefined;
  /** As the feed kept them; undefined where they cannot be read, or there is no step yet. */
  readonly tallies: Tallies | undefined;
  /** Runs whose water and dose nobody knows, since they had no plan or one that is not understood. */
  readonly unplanned: readonly number[];
  /** What could not be read, and where the sum of the events is not what the feed counted; empty where all is well. */
  readonly troubles: readonly string[];
}

/** What a contact and a stroke are, by a plan file. Throws an InputError for a plan that is not sound. */
export function feedTermsOf(file: PlanFile, name: string): FeedTerms {
  const { duty } = planFeed(planInputOf({ ...file, file: name }));
  return {
    litresPerContact: duty.contactVolume.si.mul(1_000).valueOf(),
    millilitresPerStroke: duty.strokeVolume.si.mul(1_000_000).valueOf(),
    gramsPerLitre: duty.strength.si.valueOf(),
    wantedMilligramsPerLitre: duty.dose.si.mul(1_000).valueOf(),
  };
}

/** Reads all of a journal; `terms` stand in for the plan of every run. */
export function surveyJournal(
  reading: JournalReading,
  terms?: FeedTerms,
  sinks: readonly JournalSink[] = [],
): Survey {
  const troubles: string[] = [];
  const known = new Map<number, FeedTerms | undefined>();
  const tally = newDayTally((run) => known.get(run));
  const runs: JournalRun[] = [];
  /** True if it went to its end. */
  const asFarAsItGoes = (act: () => void): boolean => {
    try {
      act();
      return true;
    } catch (error) {
      if (!(error instanceof JournalError)) throw error;
      troubles.push(error.message);
      return false;
    }
  };
  const seeRuns = (upTo: number): void => {
    for (const run of runs) {
      if (known.has(run.run) || run.run > upTo) continue;
      known.set(run.run, terms ?? planOfRun(run));
      tally.seeRun(run);
      for (const sink of sinks) sink.run?.(run);
    }
  };

  asFarAsItGoes(() => {
    reading.checkTail();
  });
  const before = talliesIn(reading, asFarAsItGoes);
  asFarAsItGoes(() => runs.push(...reading.runs()));
  const isWhole = asFarAsItGoes(() => {
    for (const event of reading.events()) {
      seeRuns(event.run);
      tally.seeEvent(event);
      for (const sink of sinks) sink.event?.(event);
    }
  });
  if (!isWhole) tally.seeGap("events");
  seeRuns(Infinity);
  const areStrokesWhole = asFarAsItGoes(() => {
    for (const stroke of reading.strokes()) tally.seeStroke(stroke);
  });
  const areNotesWhole = asFarAsItGoes(() => {
    for (const note of reading.notes()) {
      tally.seeNote(note);
      for (const sink of sinks) sink.note?.(note);
    }
  });
  if (!areStrokesWhole || !areNotesWhole) tally.seeGap("after");
  const tallies = talliesIn(reading, asFarAsItGoes);
  const total = tally.total();
  // A feed that goes on meanwhile has other accounts at the end than at the beginning.
  const isStill = JSON.stringify(before) === JSON.stringify(tallies);
  if (isWhole && isStill && tallies !== undefined) troubles.push(...disagreements(total, tallies));
  const unplanned = [...known].flatMap(([run, plan]) => (plan === undefined ? [run] : []));
  return { runs, days: tally.days(), total, tallies, unplanned, troubles: [...new Set(troubles)] };
}

function talliesIn(reading: JournalReading, asFarAsItGoes: (act: () => void) => void): Tallies | undefined {
  let tallies: Tallies | undefined;
  asFarAsItGoes(() => {
    tallies = reading.tallies();
  });
  return tallies;
}

/** Undefined where there is no plan, or none that this program takes: a journal is read by later ones too. */
function planOfRun({ plan, run }: JournalRun): FeedTerms | undefined {
  if (plan === undefined) return undefined;
  try {
    const name = `plan of run ${run}`;
    return feedTermsOf(planFileIn(plan, name), name);
  } catch (error) {
    if (error instanceof InputError) return undefined;
    throw error;
  }
}

function disagreements(total: DayRow | undefined, tallies: Tallies): string[] {
  const shed = (by: Tallies["shed"]): number => Object.values(by).reduce((sum, strokes) => sum + strokes, 0);
  const pairs: readonly (readonly [what: string, summed: number, kept: number])[] = [
    ["contacts", total?.contacts ?? 0, tallies.counted],
    ["ignored contacts", total?.ignored ?? 0, tallies.ignored],
    ["paced strokes", total?.paced ?? 0, tallies.paced],
    ["primed strokes", total?.primed ?? 0, tallies.primed],
    ["shed strokes", total === undefined ? 0 : shed(total.shed), shed(tallies.shed)],
  ];
  return pairs
    .filter(([, summed, kept]) => summed !== kept)
    .map(([what, summed, kept]) => `the events tell of ${summed} ${what}, the accounts of ${kept}`);
}
