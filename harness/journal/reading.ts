/**
 * What does a journal say? Its runs, totals, events, strokes and notes, read only. Harness layer.
 *
 * Works while a feed keeps it. Each list is read as it is gone through, so that a long journal needs little memory; a
 * damaged part throws a {@link JournalError} where it is reached, after what stands before it.
 */
import { existsSync } from "node:fs";
import { join } from "node:path";
import Database from "libsql";
import type { Micros } from "../../lib/pacing/index.js";
import { readHeader, TRACE_HEADER, type TraceEvent, formatSeconds } from "../../lib/trace/index.js";
import { many } from "../report/words.js";
import { JournalError, journalError, READ_ON } from "./fault.js";
import { type LostTail, lostOf, readHead } from "./head.js";
import { headOf } from "./record.js";
import type { Tallies } from "./tallies.js";
import { APPLICATION_ID, LAYOUT_VERSION, STORE_FILE, type StrokeOutcome } from "./schema.js";

/** One start of the feed. */
export interface JournalRun {
  readonly run: number;
  readonly startMicros: Micros;
  readonly startWallMs: number;
  /** Name of the time zone in which the label is local. */
  readonly zone: string;
  /** How long it was dark before; undefined where nobody knows, and in the first run. */
  readonly darkMicros: Micros | undefined;
  readonly meter: string;
  readonly pump: string;
  /** As a settings file says them. */
  readonly settings: { readonly [name: string]: string | number };
  /** The text of the plan file, where one was given. */
  readonly plan: string | undefined;
  readonly version: string;
  /** Why it ended; undefined where it was killed or still goes on. */
  readonly end: string | undefined;
  readonly endWallMs: number | undefined;
}

export interface JournalEvent {
  readonly run: number;
  readonly wallMs: number;
  readonly event: TraceEvent;
}

export interface JournalStroke {
  readonly run: number;
  readonly number: number;
  readonly cause: "paced" | "primed";
  readonly outcome: StrokeOutcome;
  readonly atMicros: Micros;
  readonly wallMs: number;
}

export interface JournalNote {
  readonly run: number;
  readonly atMicros: Micros;
  readonly wallMs: number;
  readonly kind: string;
  readonly words: string;
}

export type { Tallies } from "./tallies.js";

export interface JournalReading {
  /** Undefined in a journal that was begun and has no step yet. */
  tallies(): Tallies | undefined;
  runs(): JournalRun[];
  /**
   * Everything that went in and came out, in order, with the accounts after each step: a trace, times from the start
   * of the journal. Restarts stand in it as the power going and coming back.
   */
  events(): IterableIterator<JournalEvent>;
  strokes(): IterableIterator<JournalStroke>;
  notes(): IterableIterator<JournalNote>;
  /** Throws where the witness beside the database tells of more than is there, or cannot be read. */
  checkTail(): void;
  close(): void;
}

/** Throws a {@link JournalError} for a folder without a journal, or one that cannot be read. */
export function readJournal(folder: string): JournalReading {
  const file = join(folder, STORE_FILE);
  if (!existsSync(file)) {
    throw new JournalError({
      kind: "not a journal",
      message: `${folder}: there is no journal`,
      mend: "name the folder that was given to drive --journal",
    });
  }
  const db = guarded(folder, () => new Database(file, { timeout: BUSY_MILLIS }));
  guarded(folder, () => {
    db.exec("PRAGMA query_only = 1");
    checkLayout(folder, db);
  });
  const rows = <Row>(sql: string): IterableIterator<Row> => iterate<Row>(folder, db, sql);
  return {
    tallies() {
      const row = [...rows<{ tallies: string }>("SELECT tallies FROM now")][0];
      return row === undefined ? undefined : (JSON.parse(row.tallies) as Tallies);
    },
    runs: () => [...rows<RunRow>("SELECT * FROM run ORDER BY run")].map(runOf),
    events: () => eventsIn(rows),
    strokes: () =>
      rows<JournalStroke>(
        `SELECT run, number, cause, outcome, at_micros AS atMicros, wall_ms AS wallMs
         FROM stroke JOIN step USING (step) ORDER BY stroke`,
      ),
    notes: () =>
      rows<JournalNote>(
        "SELECT run, at_micros AS atMicros, wall_ms AS wallMs, kind, words FROM note ORDER BY note",
      ),
    checkTail() {
      const first = readHead(folder);
      // A live feed may have been writing it just then.
      const head = first === "unreadable" ? readHead(folder) : first;
      const [now] = rows<{ step: number; tallies: string }>("SELECT step, tallies FROM now");
      const lost = lostOf(now && headOf(now.step, JSON.parse(now.tallies) as Tallies, undefined), head);
      if (lost !== undefined) throw tailLost(folder, lost);
    },
    close() {
      db.close();
    },
  };
}

function tailLost(folder: string, lost: LostTail): JournalError {
  const what =
    lost === "unknown"
      ? "its witness is missing or damaged, so nobody can say whether the journal is whole"
      : `the journal lost its last ${many(lost.step, "step")} (${many(lost.contacts, "contact")}, ${many(lost.strokes, "stroke")})`;
  return new JournalError({ kind: "damaged", message: `${folder}: ${what}`, mend: READ_ON });
}

/** How long a reader waits for a writer, in ms. */
const BUSY_MILLIS = 2_000;

/** Throws where the database is not a journal, or one of another layout. */
export function checkLayout(folder: string, db: Database.Database): void {
  const valueOf = (name: string): unknown =>
    Object.values(db.prepare(`PRAGMA ${name}`).get() as { readonly [name: string]: unknown })[0];
  const isOurs = valueOf("application_id") === APPLICATION_ID;
  if (isOurs && valueOf("user_version") === LAYOUT_VERSION) return;
  throw new JournalError({
    kind: "not a journal",
    message: isOurs
      ? `${folder}: the journal was written by another version of this program`
      : `${folder}: ${STORE_FILE} is not a journal`,
    mend: isOurs ? "use the version that wrote it, or begin a new journal" : "name another folder",
  });
}

function guarded<Done>(folder: string, act: () => Done): Done {
  try {
    return act();
  } catch (error) {
    throw journalError(folder, error, "read");
  }
}

function* iterate<Row>(folder: string, db: Database.Database, sql: string): IterableIterator<Row> {
  const rows = guarded(folder, () => db.prepare(sql).iterate());
  for (;;) {
    const next = guarded(folder, () => rows.next());
    if (next.done === true) return;
    yield next.value as Row;
  }
}

interface RunRow {
  readonly run: number;
  readonly start_micros: number;
  readonly start_wall_ms: number;
  readonly zone: string;
  readonly dark_micros: number | null;
  readonly meter: string;
  readonly pump: string;
  readonly settings: string;
  readonly plan: string | null;
  readonly version: string;
  readonly end: string | null;
  readonly end_wall_ms: number | null;
}

function runOf(row: RunRow): JournalRun {
  return {
    run: row.run,
    startMicros: row.start_micros,
    startWallMs: row.start_wall_ms,
    zone: row.zone,
    darkMicros: row.dark_micros ?? undefined,
    meter: row.meter,
    pump: row.pump,
    settings: JSON.parse(row.settings) as { readonly [name: string]: string | number },
    plan: row.plan ?? undefined,
    version: row.version,
    end: row.end ?? undefined,
    endWallMs: row.end_wall_ms ?? undefined,
  };
}

interface EventRow {
  readonly step: number;
  readonly run: number;
  readonly step_micros: number;
  readonly wall_ms: number;
  readonly at_micros: number;
  readonly kind: string;
  readonly detail: string;
  readonly earned: number;
  readonly paced: number;
  readonly primed: number;
  readonly owed: number;
  readonly shed: number;
  readonly remainder: number;
}

const EVENTS = `
  SELECT step, run, step.at_micros AS step_micros, wall_ms, event.at_micros, kind, detail,
         earned, paced, primed, owed, shed, remainder
  FROM event JOIN step USING (step) ORDER BY step, place`;

/** Events, and after the last of each step its accounts. */
function* eventsIn(rows: <Row>(sql: string) => IterableIterator<Row>): IterableIterator<JournalEvent> {
  const header = readHeader(TRACE_HEADER.split(","), 1, STORE_FILE);
  if (!header.ok) throw new Error(header.fault.fault);
  let last: EventRow | undefined;
  for (const row of rows<EventRow>(EVENTS)) {
    if (last !== undefined && last.step !== row.step) yield* accountsOf(last);
    const read = header.rows.read([formatSeconds(row.at_micros), row.kind, row.detail], row.step);
    if (!read.ok) {
      throw new JournalError({
        kind: "damaged",
        message: `${STORE_FILE} step ${row.step}: ${read.fault.fault}`,
        mend: "what stands before it can be read",
      });
    }
    yield { run: row.run, wallMs: row.wall_ms, event: read.event };
    last = row;
  }
  if (last !== undefined) yield* accountsOf(last);
}

function* accountsOf(row: EventRow): IterableIterator<JournalEvent> {
  const { run, wall_ms: wallMs, earned, paced, primed, owed, shed, remainder } = row;
  const atMicros = row.step_micros;
  yield { run, wallMs, event: { kind: "status", atMicros, earned, paced, primed, owed, shed, remainder } };
}
