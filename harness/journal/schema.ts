/**
 * What does a journal keep, and in which tables? The layout of `journal.sqlite`. Harness layer.
 *
 * Times `…_micros` are the journal's own: microseconds of its feeds and of the dark between them, from its first start,
 * never decreasing. `…_wall_ms` is only a label: milliseconds since 1970 in UTC as the clock stood, which may be set at
 * any moment. Events bear the names and details of the trace format, so that a journal can be read as a trace.
 */

/** Files of a journal's folder. */
export const STORE_FILE = "journal.sqlite";
export const LOCK_FILE = "lock.sqlite";
export const HEAD_FILE = "head";

/** `TSJ1`, so that another program's database is not taken for a journal. */
export const APPLICATION_ID = 0x54534a31;
export const LAYOUT_VERSION = 1;

/** How it is known what became of a stroke. */
export const STROKE_OUTCOMES = [
  /** Asked for, and no word of it yet. */
  "asked",
  /** The pump said so, at once or when it was asked after a restart. */
  "made",
  /** The pump said after a restart that it had not made it: its event is taken back. */
  "unmade",
  /** Nobody can tell; it counts as made and is not repeated. */
  "uncertain",
] as const;
export type StrokeOutcome = (typeof STROKE_OUTCOMES)[number];

/**
 * - `run`: a start of the feed each. `dark_micros` is how long it was dark before, NULL where nobody knows; `settings`
 *   is what a settings file would say, `plan` the text of a plan file; `end` is NULL where it was killed.
 * - `step`: all that came of one input, in one transaction, and the accounts after it; `register` is the meter's,
 *   NULL where it keeps none.
 * - `event`: what went in and came out, in order, as the trace format writes it.
 * - `stroke`: each that was asked of the pump, under its number; `shed` and `shed_step` tell why and where it was given
 *   up in the case that it was not made.
 * - `note`: what went wrong outside the pacer, in words.
 * - `now`: the one row that a restart goes on from. `unmade` is the snapshot for the case that the stroke under way
 *   was not made; `boot` and `boot_micros` are the machine's boot-time clock.
 */
export const LAYOUT = `
CREATE TABLE run (
  run INTEGER PRIMARY KEY,
  start_micros INTEGER NOT NULL,
  start_wall_ms INTEGER NOT NULL,
  zone TEXT NOT NULL,
  dark_micros INTEGER,
  meter TEXT NOT NULL,
  pump TEXT NOT NULL,
  settings TEXT NOT NULL,
  plan TEXT,
  version TEXT NOT NULL,
  end_micros INTEGER,
  end_wall_ms INTEGER,
  end TEXT
) STRICT;
CREATE TABLE step (
  step INTEGER PRIMARY KEY,
  run INTEGER NOT NULL,
  at_micros INTEGER NOT NULL,
  wall_ms INTEGER NOT NULL,
  earned INTEGER NOT NULL,
  paced INTEGER NOT NULL,
  primed INTEGER NOT NULL,
  owed INTEGER NOT NULL,
  shed INTEGER NOT NULL,
  remainder INTEGER NOT NULL,
  register INTEGER
) STRICT;
CREATE TABLE event (
  step INTEGER NOT NULL,
  place INTEGER NOT NULL,
  at_micros INTEGER NOT NULL,
  kind TEXT NOT NULL,
  detail TEXT NOT NULL,
  PRIMARY KEY (step, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE stroke (
  stroke INTEGER PRIMARY KEY,
  step INTEGER NOT NULL,
  number INTEGER NOT NULL,
  cause TEXT NOT NULL,
  outcome TEXT NOT NULL,
  told_micros INTEGER,
  shed_step INTEGER,
  shed TEXT
) STRICT;
CREATE TABLE note (
  note INTEGER PRIMARY KEY,
  run INTEGER NOT NULL,
  at_micros INTEGER NOT NULL,
  wall_ms INTEGER NOT NULL,
  kind TEXT NOT NULL,
  words TEXT NOT NULL
) STRICT;
CREATE TABLE now (
  only INTEGER PRIMARY KEY CHECK (only = 1),
  step INTEGER NOT NULL,
  run INTEGER NOT NULL,
  at_micros INTEGER NOT NULL,
  boot TEXT,
  boot_micros INTEGER,
  register INTEGER,
  number INTEGER NOT NULL,
  snapshot BLOB NOT NULL,
  unmade BLOB,
  settings TEXT NOT NULL,
  tallies TEXT NOT NULL
) STRICT;
`;
