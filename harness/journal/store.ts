/**
 * How is a live feed kept so that a kill at any moment loses nothing? The writer of a journal. Harness layer.
 *
 * An embedded database with a write-ahead log, flushed to the disk at every commit. Invariants: a step is kept whole or
 * not at all; when {@link Journal.commit} returns it is on the disk. Everything here throws a {@link JournalError}.
 */
import type Database from "libsql";
import { type Micros, type ShedCause, takeSnapshot } from "../../lib/pacing/index.js";
import { accountsOf, detailOf, type TraceEvent } from "../../lib/trace/index.js";
import { journalError } from "./fault.js";
import type { Head, HeadFile, LostTail } from "./head.js";
import { headOf, type Kept, type RunRecord, settingsText, type Stamp, type StepRecord } from "./record.js";
import { talliesOf } from "./tallies.js";

export interface Journal {
  readonly folder: string;
  /** What a restart goes on from; undefined where the journal is new. */
  readonly kept: Kept | undefined;
  /** Undefined where nothing is lost. */
  readonly lost: LostTail | undefined;
  /** Opens a run with its first step, in one transaction. */
  begin(run: RunRecord, first: StepRecord): void;
  commit(step: StepRecord): void;
  /** Nothing has happened, and the feed is alive. */
  alive(): void;
  /** The stroke under way was made. */
  acknowledge(atMicros: Micros): void;
  note(kind: string, words: string, atMicros: Micros): void;
  /** The last word of the run; the journal is still to be closed. */
  end(why: string, atMicros: Micros): void;
  /** Never throws. */
  close(): void;
}

export interface WriterParts extends Pick<Journal, "folder" | "kept" | "lost" | "close"> {
  readonly db: Database.Database;
  readonly head: HeadFile;
  readonly stampOf: () => Stamp;
}

export function writer({ folder, db, head, kept, lost, stampOf, close }: WriterParts): Journal {
  const rows = statements(db);
  let step = kept?.step ?? 0;
  let standing: Head = headOf(step, kept?.tallies ?? NOTHING, undefined);
  let run = 0;

  const inOne = (act: () => void): void => {
    try {
      db.exec("BEGIN IMMEDIATE");
      try {
        act();
        db.exec("COMMIT");
      } catch (error) {
        // A full disk has rolled back by itself; its own word is the one to tell.
        quietly(() => db.exec("ROLLBACK"));
        throw error;
      }
    } catch (error) {
      throw journalError(folder, error);
    }
  };

  const write = (record: StepRecord, next: number, stamp: Stamp): void => {
    const { state: s, stroke } = record;
    const accounts = accountsOf(s);
    rows.step.run(
      next,
      run,
      accounts.atMicros,
      stamp.wallMs,
      accounts.earned,
      accounts.paced,
      accounts.primed,
      accounts.owed,
      accounts.shed,
      accounts.remainder,
      record.register ?? null,
    );
    record.events.forEach((event: TraceEvent, place) => {
      rows.event.run(next, place, event.atMicros, event.kind, detailOf(event));
    });
    if (stroke !== undefined) rows.stroke.run(next, stroke.number, stroke.cause);
    if (record.unmadeShed !== undefined) rows.shed.run(next, record.unmadeShed);
    rows.now.run(
      next,
      run,
      s.nowMicros,
      stamp.boot?.id ?? null,
      stamp.boot?.micros ?? null,
      record.register ?? null,
      record.number,
      Buffer.from(takeSnapshot(s)),
      record.unmade === undefined ? null : Buffer.from(takeSnapshot(record.unmade)),
      settingsText(s.settings),
      JSON.stringify(talliesOf(s, record.uncertain)),
    );
  };

  const witness = (written: Head): void => {
    try {
      head.write(written);
    } catch (error) {
      throw journalError(folder, error);
    }
  };

  const done = (record: StepRecord, { boot }: Stamp): void => {
    step += 1;
    standing = headOf(step, record.state, boot);
    witness(standing);
  };

  return {
    folder,
    kept,
    lost,
    begin(record, first) {
      const stamp = stampOf();
      inOne(() => {
        if (record.resolved !== undefined) resolve(db, record.resolved, first.state.nowMicros);
        const { lastInsertRowid } = rows.run.run(
          first.state.nowMicros,
          stamp.wallMs,
          record.zone,
          record.darkMicros ?? null,
          record.meter,
          record.pump,
          JSON.stringify(record.settings),
          record.plan ?? null,
          record.version,
        );
        run = Number(lastInsertRowid);
        write(first, step + 1, stamp);
      });
      done(first, stamp);
    },
    commit(record) {
      const stamp = stampOf();
      inOne(() => {
        write(record, step + 1, stamp);
      });
      done(record, stamp);
    },
    alive() {
      witness({ ...standing, bootMicros: stampOf().boot?.micros ?? 0 });
    },
    acknowledge(atMicros) {
      inOne(() => {
        rows.made.run(atMicros);
        rows.settled.run();
      });
    },
    note(kind, words, atMicros) {
      inOne(() => {
        rows.note.run(run, atMicros, stampOf().wallMs, kind, words);
      });
    },
    end(why, atMicros) {
      inOne(() => {
        rows.end.run(atMicros, stampOf().wallMs, why, run);
      });
      // So that the folder can be copied as one file.
      quietly(() => db.pragma("wal_checkpoint(TRUNCATE)"));
    },
    close,
  };
}

const NOTHING = { counted: 0, ignored: 0, paced: 0, primed: 0 };

interface LastStroke {
  readonly stroke: number;
  readonly step: number;
  readonly cause: "paced" | "primed";
  readonly shed_step: number | null;
  readonly shed: ShedCause | null;
}

/** What became of the stroke that was under way when the last run ended. */
function resolve(db: Database.Database, outcome: NonNullable<RunRecord["resolved"]>, atMicros: Micros): void {
  const last = db.prepare("SELECT * FROM stroke ORDER BY stroke DESC LIMIT 1").get() as LastStroke;
  db.prepare("UPDATE stroke SET outcome = ?, told_micros = ? WHERE stroke = ?").run(
    outcome,
    atMicros,
    last.stroke,
  );
  if (outcome === "unmade") takeBack(db, last);
}

/** It was never made: nor does the record say so, nor the accounts since then. */
function takeBack(db: Database.Database, { step, cause, shed_step: shedStep, shed }: LastStroke): void {
  db.prepare("DELETE FROM event WHERE step = ? AND kind = ?").run(step, cause);
  if (cause === "primed") {
    db.prepare("UPDATE step SET primed = primed - 1 WHERE step >= ?").run(step);
    return;
  }
  db.prepare("UPDATE step SET paced = paced - 1, owed = owed + 1 WHERE step >= ?").run(step);
  if (shedStep === null || shed === null) return;
  db.prepare("UPDATE step SET owed = owed - 1, shed = shed + 1 WHERE step >= ?").run(shedStep);
  const detail = detailOf({ kind: "shed", atMicros: 0, cause: shed, strokes: 1 });
  db.prepare(
    `INSERT INTO event SELECT step, 1 + (SELECT ifnull(max(place), 0) FROM event AS other WHERE other.step = step.step),
       at_micros, 'shed', ? FROM step WHERE step = ?`,
  ).run(detail, shedStep);
}

function statements(db: Database.Database) {
  return {
    run: db.prepare(
      `INSERT INTO run (start_micros, start_wall_ms, zone, dark_micros, meter, pump, settings, plan, version)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    ),
    step: db.prepare("INSERT INTO step VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"),
    event: db.prepare("INSERT INTO event VALUES (?, ?, ?, ?, ?)"),
    stroke: db.prepare("INSERT INTO stroke (step, number, cause, outcome) VALUES (?, ?, ?, 'asked')"),
    shed: db.prepare(
      "UPDATE stroke SET shed_step = ?, shed = ? WHERE stroke = (SELECT max(stroke) FROM stroke)",
    ),
    now: db.prepare("INSERT OR REPLACE INTO now VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"),
    made: db.prepare(
      `UPDATE stroke SET outcome = 'made', told_micros = ?
       WHERE stroke = (SELECT max(stroke) FROM stroke) AND outcome = 'asked'`,
    ),
    settled: db.prepare("UPDATE now SET unmade = NULL"),
    note: db.prepare("INSERT INTO note (run, at_micros, wall_ms, kind, words) VALUES (?, ?, ?, ?, ?)"),
    end: db.prepare("UPDATE run SET end_micros = ?, end_wall_ms = ?, end = ? WHERE run = ?"),
  };
}

/** For what must not hide the fault that led to it. */
export function quietly(act: () => unknown): void {
  try {
    act();
  } catch {
    // What led here is told already, or nothing can be done about it.
  }
}
