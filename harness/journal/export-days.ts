/**
 * What happened on each day of a feed, and in all? Counts from a journal's events, and water and dose with a plan. Harness
 * layer, pure.
 *
 * A day is the local day of the wall-clock label. There is one row a date: a clock that is set back makes a day longer,
 * not twice. All strokes count as fed, primed and uncertain ones too; all contacts that were not rejected are water.
 */
import { ALARMS, type Alarm, type Micros, SHED_CAUSES, type ShedCause } from "../../lib/pacing/index.js";
import type { JournalEvent, JournalNote, JournalRun, JournalStroke } from "./reading.js";
import { labelsIn, type LocalLabel } from "./export-label.js";

/** What a contact and a stroke are. */
export interface FeedTerms {
  readonly litresPerContact: number;
  readonly millilitresPerStroke: number;
  /** Of the solution as Cl2, which is as many milligrams in a millilitre. */
  readonly gramsPerLitre: number;
  readonly wantedMilligramsPerLitre: number;
}

/** Water and solution; undefined as a whole where a run has no plan. */
export interface DayFeed {
  readonly litres: number;
  readonly millilitres: number;
  /** Undefined where no water passed. */
  readonly meanMilligramsPerLitre: number | undefined;
  /** Of the last plan in force. */
  readonly wantedMilligramsPerLitre: number;
}

/** One day, or all days. */
export interface DayRow {
  /** Of the first and the last record, in the order of the journal. */
  readonly first: LocalLabel;
  readonly last: LocalLabel;
  readonly zone: string;
  /** That earned, those ignored, those too fast to be real. */
  readonly contacts: number;
  readonly ignored: number;
  readonly rejected: number;
  readonly earned: number;
  readonly paced: number;
  readonly primed: number;
  /** Of both, those that may not have been made, and those of which the pump has not told yet. */
  readonly uncertain: number;
  readonly untold: number;
  readonly shed: { readonly [cause in ShedCause]: number };
  readonly alarms: { readonly [alarm in Alarm]: number };
  /** What went wrong outside the pacer, by kind. */
  readonly troubles: { readonly [kind: string]: number };
  /** Starts of the feed after the first. */
  readonly restarts: number;
  /** Known time without power before them, and how many were of unknown length. */
  readonly darkMicros: Micros;
  readonly darkUnknown: number;
  readonly feed: DayFeed | undefined;
  /** False where a part of the journal could not be read: then every count is at least what stands here. */
  readonly isWhole: boolean;
}

export interface DayTally {
  /** Runs and events come in the order of the journal, a run before its events; strokes and notes after all events. */
  seeRun(run: JournalRun): void;
  seeEvent(event: JournalEvent): void;
  seeStroke(stroke: JournalStroke): void;
  seeNote(note: JournalNote): void;
  /** What comes next could not be read: events after the last one seen, or some of what comes after all events. */
  seeGap(where: "events" | "after"): void;
  /** Days in the order of their dates. */
  days(): DayRow[];
  /** Undefined while nothing was seen. */
  total(): DayRow | undefined;
}

/** Terms by number of run; undefined where nobody said what a contact is. */
export type TermsOf = (run: number) => FeedTerms | undefined;

interface RunCounts {
  contacts: number;
  strokes: number;
}

interface Counts {
  first: LocalLabel;
  last: LocalLabel;
  zone: string;
  contacts: number;
  ignored: number;
  rejected: number;
  earned: number;
  paced: number;
  primed: number;
  uncertain: number;
  untold: number;
  shed: { [cause in ShedCause]: number };
  alarms: { [alarm in Alarm]: number };
  troubles: { [kind: string]: number };
  restarts: number;
  darkMicros: Micros;
  darkUnknown: number;
  /** What is told in plans goes by run. */
  byRun: Map<number, RunCounts>;
}

export function newDayTally(termsOf: TermsOf): DayTally {
  const labels = new Map<number, { readonly zone: string; readonly label: (wallMs: number) => LocalLabel }>();
  const days = new Map<string, Counts>();
  let total: Counts | undefined;
  /** The day of the last event, from which on days may lack some. */
  let lastDate = "";
  let gapFrom: string | undefined;
  let lastWallMs = 0;

  /** The counts that a record goes into: its day's and the total. Only what comes in order moves their ends. */
  const countsAt = (run: number, wallMs: number, isInOrder: boolean): readonly Counts[] => {
    const { zone, label } = labels.get(run) ?? UTC;
    const at = label(wallMs);
    let day = days.get(at.date);
    if (day === undefined) days.set(at.date, (day = newCounts(at, zone)));
    total ??= newCounts(at, zone);
    if (isInOrder) day.last = total.last = at;
    return [day, total];
  };

  /** Days between two records of a run on which nothing happened have a row as well. */
  const seeQuietDays = (run: number, wallMs: number): void => {
    const { zone, label } = labels.get(run) ?? UTC;
    if (wallMs - lastWallMs > QUIET_MOST_MS) return; // The clock was set: nobody fed for years.
    // In steps of half a day no date is missed where an hour is.
    for (let at = lastWallMs + HALF_DAY_MS; at < wallMs; at += HALF_DAY_MS) {
      const { date } = label(at);
      if (days.has(date)) continue;
      const counts = newCounts({ date, time: "" }, zone);
      ownOf(counts, run);
      days.set(date, counts);
    }
  };

  return {
    seeRun({ run, zone, startWallMs, darkMicros }) {
      labels.set(run, { zone, label: labelsIn(zone) });
      const isFirst = labels.size === 1;
      lastWallMs = startWallMs;
      for (const counts of countsAt(run, startWallMs, true)) {
        ownOf(counts, run);
        if (isFirst) continue;
        counts.restarts += 1;
        counts.darkMicros += darkMicros ?? 0;
        counts.darkUnknown += darkMicros === undefined ? 1 : 0;
      }
    },
    seeEvent({ run, wallMs, event }) {
      seeQuietDays(run, wallMs);
      lastWallMs = wallMs;
      for (const counts of countsAt(run, wallMs, true)) {
        count(counts, run, event);
        lastDate = counts.last.date;
      }
    },
    seeStroke({ run, wallMs, outcome }) {
      if (outcome !== "uncertain" && outcome !== "asked") return;
      for (const counts of countsAt(run, wallMs, false))
        counts[outcome === "asked" ? "untold" : outcome] += 1;
    },
    seeNote({ run, wallMs, kind }) {
      for (const counts of countsAt(run, wallMs, false))
        counts.troubles[kind] = (counts.troubles[kind] ?? 0) + 1;
    },
    seeGap(where) {
      gapFrom = where === "events" && gapFrom === undefined ? lastDate : "";
    },
    days: () =>
      [...days]
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([date, counts]) => rowOf(counts, termsOf, gapFrom === undefined || date < gapFrom)),
    total: () => total && rowOf(total, termsOf, gapFrom === undefined),
  };
}

const HALF_DAY_MS = 43_200_000;
/** A longer silence is a clock that was set. */
const QUIET_MOST_MS = 400 * 2 * HALF_DAY_MS;
const UTC = { zone: "UTC", label: labelsIn("UTC") };

function newCounts(at: LocalLabel, zone: string): Counts {
  return {
    first: at,
    last: at,
    zone,
    contacts: 0,
    ignored: 0,
    rejected: 0,
    earned: 0,
    paced: 0,
    primed: 0,
    uncertain: 0,
    untold: 0,
    shed: Object.fromEntries(SHED_CAUSES.map((cause) => [cause, 0])) as { [cause in ShedCause]: number },
    alarms: Object.fromEntries(ALARMS.map((alarm) => [alarm, 0])) as { [alarm in Alarm]: number },
    troubles: {},
    restarts: 0,
    darkMicros: 0,
    darkUnknown: 0,
    byRun: new Map(),
  };
}

function ownOf({ byRun }: Counts, run: number): RunCounts {
  let own = byRun.get(run);
  if (own === undefined) byRun.set(run, (own = { contacts: 0, strokes: 0 }));
  return own;
}

function count(counts: Counts, run: number, event: JournalEvent["event"]): void {
  const own = ownOf(counts, run);
  if (event.kind === "counted" || event.kind === "ignored") {
    own.contacts += event.contacts;
    counts[event.kind === "counted" ? "contacts" : "ignored"] += event.contacts;
    counts.earned += event.kind === "counted" ? event.earned : 0;
  } else if (event.kind === "rejected") {
    counts.rejected += event.contacts;
  } else if (event.kind === "paced" || event.kind === "primed") {
    counts[event.kind] += 1;
    own.strokes += 1;
  } else if (event.kind === "shed") {
    counts.shed[event.cause] += event.strokes;
  } else if (event.kind === "alarm-on") {
    counts.alarms[event.alarm] += 1;
  }
}

function rowOf({ byRun, ...counts }: Counts, termsOf: TermsOf, isWhole: boolean): DayRow {
  return { ...counts, feed: feedOf(byRun, termsOf), isWhole };
}

function feedOf(byRun: ReadonlyMap<number, RunCounts>, termsOf: TermsOf): DayFeed | undefined {
  let litres = 0;
  let millilitres = 0;
  let milligrams = 0;
  let wanted: number | undefined;
  for (const [run, { contacts, strokes }] of byRun) {
    const terms = termsOf(run);
    if (terms === undefined && contacts + strokes === 0) continue;
    if (terms === undefined) return undefined;
    litres += contacts * terms.litresPerContact;
    millilitres += strokes * terms.millilitresPerStroke;
    milligrams += strokes * terms.millilitresPerStroke * terms.gramsPerLitre;
    wanted = terms.wantedMilligramsPerLitre;
  }
  if (wanted === undefined) return undefined;
  return {
    litres,
    millilitres,
    meanMilligramsPerLitre: litres === 0 ? undefined : milligrams / litres,
    wantedMilligramsPerLitre: wanted,
  };
}
