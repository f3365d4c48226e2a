/**
 * Which journal is kept in a folder, and is it whole? Opens one, or begins one. Harness layer.
 *
 * One feed at a time holds the lock, which the operating system takes back when the process dies. What is damaged is
 * refused; what lost its tail is opened, and says so.
 */
import { existsSync, mkdirSync, statSync } from "node:fs";
import { join } from "node:path";
import Database from "libsql";
import { JournalError, journalError } from "./fault.js";
import { lostOf, openHead, readHead } from "./head.js";
import { checkLayout } from "./reading.js";
import type { Tallies } from "./tallies.js";
import { headOf, type Kept, settingsIn, type Stamp } from "./record.js";
import { APPLICATION_ID, LAYOUT, LAYOUT_VERSION, LOCK_FILE, STORE_FILE } from "./schema.js";
import { type Journal, quietly, writer } from "./store.js";

/** How long another process may keep the lock while it dies, in ms. */
const LOCK_MILLIS = 500;

/** Opens the journal in `folder`, or begins one; the folder above it must be there. */
export function openJournal(folder: string, stampOf: () => Stamp): Journal {
  const opened: { close(): void }[] = [];
  const kept = <Resource extends { close(): void }>(resource: Resource): Resource => {
    opened.push(resource);
    return resource;
  };
  const close = (): void => {
    for (const each of opened.reverse())
      quietly(() => {
        each.close();
      });
    opened.length = 0;
  };
  try {
    if (!existsSync(folder)) mkdirSync(folder);
    else if (!statSync(folder).isDirectory()) throw fileInPlace(folder);
    kept(takeLock(folder));
    const head = readHead(folder);
    const isNew = !existsSync(join(folder, STORE_FILE));
    if (isNew && head !== "none") throw goneError(folder);
    const db = kept(openStore(folder));
    const last = readKept(folder, db, head);
    return writer({
      folder,
      db,
      head: kept(openHead(folder)),
      kept: last,
      lost: lostOf(last && headOf(last.step, last.tallies, undefined), head),
      stampOf,
      close,
    });
  } catch (error) {
    close();
    throw journalError(folder, error);
  }
}

/** An exclusive transaction on a database of its own: readers of the journal are not in its way. */
function takeLock(folder: string): { close(): void } {
  const lock = new Database(join(folder, LOCK_FILE), { timeout: LOCK_MILLIS });
  try {
    lock.exec("BEGIN EXCLUSIVE");
  } catch (error) {
    lock.close();
    throw error;
  }
  return {
    close() {
      quietly(() => lock.exec("ROLLBACK"));
      lock.close();
    },
  };
}

function openStore(folder: string): Database.Database {
  const db = new Database(join(folder, STORE_FILE), { timeout: LOCK_MILLIS });
  try {
    db.pragma("journal_mode = WAL");
    db.pragma("synchronous = FULL");
    const tables = db.prepare("SELECT count(*) AS count FROM sqlite_master").get() as { count: number };
    // A kill while a journal is being begun leaves an empty database.
    if (tables.count === 0) {
      db.exec(
        `BEGIN IMMEDIATE; PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${LAYOUT_VERSION};` +
          `${LAYOUT} COMMIT`,
      );
    }
    checkLayout(folder, db);
    const checked = db.prepare("PRAGMA quick_check(1)").get() as { readonly quick_check: string };
    if (checked.quick_check !== "ok") throw damaged(folder, checked.quick_check);
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

interface NowRow {
  readonly step: number;
  readonly at_micros: number;
  readonly boot: string | null;
  readonly boot_micros: number | null;
  readonly register: number | null;
  readonly meter: string;
  readonly number: number;
  readonly snapshot: ArrayBuffer;
  readonly unmade: ArrayBuffer | null;
  readonly settings: string;
  readonly tallies: string;
}

function readKept(
  folder: string,
  db: Database.Database,
  head: ReturnType<typeof readHead>,
): Kept | undefined {
  const row = db.prepare("SELECT now.*, meter FROM now JOIN run USING (run)").get() as NowRow | undefined;
  if (row === undefined) return undefined;
  const settings = settingsIn(row.settings);
  if (settings === undefined) throw damaged(folder, "its settings cannot be read");
  const boot = row.boot === null ? undefined : { id: row.boot, micros: row.boot_micros ?? 0 };
  // A head of an earlier start of the machine stands lower, or belongs to a step that came later.
  const alive = typeof head === "string" || head.step !== row.step ? 0 : head.bootMicros;
  return {
    step: row.step,
    atMicros: row.at_micros,
    boot,
    aliveBoot: boot && { id: boot.id, micros: Math.max(boot.micros, alive) },
    register: row.register ?? undefined,
    meter: row.meter,
    number: row.number,
    snapshot: new Uint8Array(row.snapshot),
    unmade: row.unmade === null ? undefined : new Uint8Array(row.unmade),
    settings,
    tallies: JSON.parse(row.tallies) as Tallies,
  };
}

function fileInPlace(folder: string): JournalError {
  return new JournalError({
    kind: "not writable",
    message: `${folder}: is a file, and a journal is a folder`,
    mend: "name a folder with --journal, a new one or that of a journal",
  });
}

function goneError(folder: string): JournalError {
  return damaged(folder, `${STORE_FILE} is gone`);
}

function damaged(folder: string, what: string): JournalError {
  return new JournalError({
    kind: "damaged",
    message: `${folder}: the journal is damaged: ${what}`,
    mend: "keep the folder as it is, and name a new one with --journal",
  });
}
