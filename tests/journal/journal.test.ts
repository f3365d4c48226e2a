/**
 * A journal keeps what was committed, gives it back, and says what it cannot.
 */
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { JournalError } from "../../harness/journal/fault.js";
import { openJournal } from "../../harness/journal/open.js";
import { readJournal } from "../../harness/journal/reading.js";
import type { RunRecord, Stamp, StepRecord } from "../../harness/journal/record.js";
import { HEAD_FILE, STORE_FILE } from "../../harness/journal/schema.js";
import type { Journal } from "../../harness/journal/store.js";
import { newState, restoreSnapshot, step, type State } from "../../lib/pacing/index.js";
import { journalFolder } from "../drive/rig.js";
import { sound } from "../support/arbitraries.js";

const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 500_000, cadence: "prompt" });
const STAMP: Stamp = { wallMs: 1_700_000_000_000, boot: { id: "boot-1", micros: 5_000_000 } };

const RUN: RunRecord = {
  meter: "mock",
  pump: "mock",
  settings: { ratio: "3:2", cap: 120 },
  plan: undefined,
  zone: "UTC",
  version: "test",
  darkMicros: undefined,
  resolved: undefined,
};

function open(folder: string): Journal {
  return openJournal(folder, () => STAMP);
}

function record(state: Readonly<State>, more: Partial<StepRecord> = {}): StepRecord {
  return { events: [], state, register: 7, number: 0, unmade: undefined, uncertain: 0, ...more };
}

/** A run with so many contacts, each kept as a step; the state after it. */
function keepContacts(journal: Journal, contacts: number): State {
  let state: Readonly<State> = newState(SETTINGS);
  journal.begin(RUN, record(state));
  for (let i = 1; i <= contacts; i++) {
    const input = { kind: "contact", atMicros: i * 2_000_000 } as const;
    const stepped = step(state, input);
    state = stepped.state;
    journal.commit(record(state, { events: [input, ...stepped.effects], register: 7 + i }));
  }
  return state;
}

/** The fault with which it is refused. */
function refusal(act: () => unknown): string {
  try {
    act();
  } catch (error) {
    if (error instanceof JournalError) return error.fault.kind;
    throw error;
  }
  return "none";
}

describe("what was committed", () => {
  test("is what the next opening goes on from", () => {
    const folder = journalFolder();
    const first = open(folder);
    expect([first.kept, first.lost]).toEqual([undefined, undefined]);
    const state = keepContacts(first, 3);
    first.close();
    const next = open(folder);
    const { kept, lost } = next;
    next.close();
    expect(lost).toBe(undefined);
    expect(kept).toMatchObject({
      step: 4,
      atMicros: 6_000_000,
      boot: STAMP.boot,
      register: 10,
      number: 0,
      unmade: undefined,
      tallies: { counted: 3, earned: 4 },
    });
    expect(kept?.settings).toEqual(SETTINGS);
    const restored = restoreSnapshot(SETTINGS, kept?.snapshot ?? [], 6_000_000, 0);
    expect(restored.ok && restored.state.owed).toBe(state.owed);
  });

  test("reads as a trace with the accounts after each step, also while the journal is kept", () => {
    const folder = journalFolder();
    const journal = open(folder);
    keepContacts(journal, 1);
    const reading = readJournal(folder);
    expect([...reading.events()].map(({ event }) => event)).toEqual([
      { kind: "contact", atMicros: 2_000_000 },
      { kind: "counted", atMicros: 2_000_000, contacts: 1, earned: 1 },
      { kind: "paced", atMicros: 2_000_000 },
      { kind: "status", atMicros: 2_000_000, earned: 1, paced: 1, primed: 0, owed: 0, shed: 0, remainder: 1 },
    ]);
    expect(reading.runs()).toMatchObject([{ run: 1, meter: "mock", settings: RUN.settings, end: undefined }]);
    reading.close();
    journal.close();
  });

  test("cannot be written through a reading", () => {
    const folder = journalFolder();
    const journal = open(folder);
    keepContacts(journal, 1);
    journal.close();
    const before = readFileSync(join(folder, STORE_FILE));
    const reading = readJournal(folder);
    expect([...reading.events()]).not.toEqual([]);
    reading.close();
    expect(readFileSync(join(folder, STORE_FILE)).equals(before)).toBe(true);
  });

  test("is one feed's: another is refused until it is closed", () => {
    const folder = journalFolder();
    const first = open(folder);
    expect(refusal(() => open(folder))).toBe("in use");
    first.close();
    open(folder).close();
  });

  test("is marked alive without a step, by the boot-time clock", () => {
    const folder = journalFolder();
    let micros = 5_000_000;
    const journal = openJournal(folder, () => ({ wallMs: 0, boot: { id: "boot-1", micros } }));
    keepContacts(journal, 1);
    micros = 9_000_000;
    journal.alive();
    journal.close();
    const next = open(folder);
    const { kept } = next;
    next.close();
    expect([kept?.boot?.micros, kept?.aliveBoot?.micros]).toEqual([5_000_000, 9_000_000]);
  });
});

describe("what is missing or damaged", () => {
  /** What a killed process left on the disk after so many contacts, with the last of them in the database's log. */
  function written(contacts: number): string {
    const folder = journalFolder();
    const journal = open(folder);
    keepContacts(journal, contacts);
    // Elsewhere, since this process still maps the index of the log.
    const left = journalFolder();
    mkdirSync(left);
    for (const name of [STORE_FILE, `${STORE_FILE}-wal`, HEAD_FILE])
      copyFileSync(join(folder, name), join(left, name));
    journal.close();
    return left;
  }

  test("a log that was cut short is opened, and tells how many steps, contacts and strokes are lost", () => {
    const folder = written(12);
    const log = join(folder, `${STORE_FILE}-wal`);
    truncateSync(log, readFileSync(log).length - 6 * 4_120);
    const journal = open(folder);
    const { lost, kept } = journal;
    journal.close();
    expect(lost).not.toBe("unknown");
    expect(lost).not.toBe(undefined);
    if (lost === undefined || lost === "unknown") return;
    expect(lost.step).toBeGreaterThan(0);
    expect([lost.step + (kept?.step ?? 0), lost.contacts + (kept?.tallies.counted ?? 0)]).toEqual([13, 12]);
  });

  test("a log whose bytes were damaged is opened as far as it is sound, and tells what is lost", () => {
    const folder = written(12);
    const log = join(folder, `${STORE_FILE}-wal`);
    const bytes = readFileSync(log);
    bytes.fill(0xa5, bytes.length - 3 * 4_120, bytes.length - 2 * 4_120);
    writeFileSync(log, bytes);
    const journal = open(folder);
    const { lost } = journal;
    journal.close();
    expect(lost).toMatchObject({ step: expect.any(Number) as number });
  });

  test("an older copy of the database is told by the witness", () => {
    const folder = journalFolder();
    const first = open(folder);
    keepContacts(first, 2);
    first.end("asked", 4_000_000);
    first.close();
    const old = readFileSync(join(folder, STORE_FILE));
    const next = open(folder);
    next.begin(RUN, record(newState(SETTINGS)));
    next.end("asked", 4_000_000);
    next.close();
    writeFileSync(join(folder, STORE_FILE), old);
    for (const end of ["-wal", "-shm"]) rmSync(join(folder, `${STORE_FILE}${end}`), { force: true });
    const journal = open(folder);
    expect(journal.lost).toMatchObject({ step: 1 });
    journal.close();
  });

  test.each([
    [
      "is gone",
      (path: string) => {
        rmSync(path);
      },
    ],
    [
      "is torn",
      (path: string) => {
        truncateSync(path, 20);
      },
    ],
    [
      "was changed",
      (path: string) => {
        writeFileSync(path, readFileSync(path, "latin1").replace("0", "1"));
      },
    ],
  ])("a witness that %s makes it unknown whether the journal is whole", (_name, harm) => {
    const folder = written(2);
    harm(join(folder, HEAD_FILE));
    const journal = open(folder);
    expect(journal.lost).toBe("unknown");
    journal.close();
  });

  test("a kill before the first step, or before the witness told of it, leaves nothing in doubt", () => {
    const folder = journalFolder();
    open(folder).close();
    const second = open(folder);
    expect([second.kept, second.lost]).toEqual([undefined, undefined]);
    second.begin(RUN, record(newState(SETTINGS)));
    second.close();
    truncateSync(join(folder, HEAD_FILE), 0);
    const third = open(folder);
    expect([third.kept?.step, third.lost]).toEqual([1, undefined]);
    third.close();
  });

  test("a database that is gone while its witness stands is refused", () => {
    const folder = written(2);
    for (const end of ["", "-wal", "-shm"]) rmSync(join(folder, `${STORE_FILE}${end}`), { force: true });
    expect(refusal(() => open(folder))).toBe("damaged");
  });

  test.each([
    ["overwritten in its middle", (bytes: Buffer) => bytes.fill(0xff, 4_096, 12_000)],
    ["cut to half", (bytes: Buffer) => bytes.subarray(0, Math.floor(bytes.length / 2))],
    ["another file", () => Buffer.from("time_s\n1\n2\n".repeat(800))],
  ])("a database that is %s is refused as damaged, and the lock is let go", (_name, harm) => {
    const folder = written(60);
    const journal = open(folder);
    journal.end("asked", 0);
    journal.close();
    const path = join(folder, STORE_FILE);
    writeFileSync(path, harm(readFileSync(path)));
    for (const end of ["-wal", "-shm"]) rmSync(join(folder, `${STORE_FILE}${end}`), { force: true });
    expect(refusal(() => open(folder))).toBe("damaged");
    expect(refusal(() => open(folder))).toBe("damaged");
  });

  test("another program's database is no journal", async () => {
    const folder = journalFolder();
    mkdirSync(folder);
    const { default: Database } = await import("libsql");
    const other = new Database(join(folder, STORE_FILE));
    other.exec("CREATE TABLE notes (text)");
    other.close();
    expect(refusal(() => open(folder))).toBe("not a journal");
    expect(refusal(() => readJournal(folder))).toBe("not a journal");
  });

  test("a kill while it was being begun leaves an empty database, which is begun anew", () => {
    const folder = journalFolder();
    mkdirSync(folder);
    writeFileSync(join(folder, STORE_FILE), "");
    const journal = open(folder);
    expect(journal.kept).toBe(undefined);
    keepContacts(journal, 1);
    journal.close();
  });

  test.each([
    [
      "a file",
      (folder: string) => {
        writeFileSync(folder, "");
      },
      "not writable",
    ],
    ["a folder that cannot be made", () => undefined, "not writable"],
  ])("%s in its place is refused", (name, make, kind) => {
    const folder = name === "a file" ? journalFolder() : "/proc/tallystroke";
    make(folder);
    expect(refusal(() => open(folder))).toBe(kind);
  });

  test("a step that cannot be written leaves the last one, and can be gone on from", () => {
    const folder = journalFolder();
    const journal = open(folder);
    const state = keepContacts(journal, 2);
    expect(
      refusal(() => {
        journal.commit(record({ ...state, earned: 0.5 }));
      }),
    ).toBe("failed");
    journal.close();
    const next = open(folder);
    expect([next.kept?.step, next.lost]).toEqual([3, undefined]);
    next.close();
  });
});

test("a folder of a journal can be copied once its run has ended", () => {
  const folder = journalFolder();
  const journal = open(folder);
  keepContacts(journal, 5);
  journal.end("asked", 10_000_000);
  journal.close();
  const copy = journalFolder();
  mkdirSync(copy);
  for (const name of [STORE_FILE, HEAD_FILE]) copyFileSync(join(folder, name), join(copy, name));
  expect(existsSync(join(copy, `${STORE_FILE}-wal`))).toBe(false);
  const again = open(copy);
  expect([again.kept?.step, again.lost]).toEqual([6, undefined]);
  again.close();
});
