/**
 * What does a journal say, and does it keep the laws? Test support.
 */
import { join } from "node:path";
import Database from "libsql";
import { expect } from "vitest";
import { readJournal, type Tallies } from "../../harness/journal/reading.js";
import { STORE_FILE } from "../../harness/journal/schema.js";
import { judgeTrace, type Verdict } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { Plant } from "./rig.js";

export interface JournalSaid {
  readonly tallies: Tallies;
  readonly events: readonly TraceEvent[];
  readonly ends: readonly (string | undefined)[];
  readonly notes: readonly string[];
  /** Numbers and outcomes of the strokes. */
  readonly strokes: readonly string[];
  /** The meter's register where the journal began to count it, and where it stands; undefined where there is none. */
  readonly register: { readonly first: number; readonly last: number } | undefined;
}

export function readAll(folder: string): JournalSaid {
  const reading = readJournal(folder);
  try {
    const tallies = reading.tallies();
    if (tallies === undefined) throw new Error("the journal has no step");
    return {
      tallies,
      events: [...reading.events()].map(({ event }) => event),
      ends: reading.runs().map(({ end }) => end),
      notes: [...reading.notes()].map(({ kind }) => kind),
      strokes: [...reading.strokes()].map(({ number, outcome }) => `${number} ${outcome}`),
      register: registerIn(folder),
    };
  } finally {
    reading.close();
  }
}

function registerIn(folder: string): JournalSaid["register"] {
  const db = new Database(join(folder, STORE_FILE));
  try {
    const rows = db.prepare("SELECT register FROM step WHERE register IS NOT NULL ORDER BY step").all() as {
      readonly register: number;
    }[];
    const [first, last] = [rows[0], rows.at(-1)];
    return first && last && { first: first.register, last: last.register };
  } finally {
    db.close();
  }
}

/** Laws that the trace breaks, with the evidence. */
export function brokenLaws(settings: Settings, events: readonly TraceEvent[]): string[] {
  return verdictsOn(settings, events)
    .filter(({ answer }) => answer === "broken")
    .map(({ law, evidence }) => `${law}: ${evidence ?? ""}`);
}

export function verdictsOn(settings: Settings, events: readonly TraceEvent[]): Verdict[] {
  // Wake-ups of a live feed come when the machine lets them.
  const judge = judgeTrace(settings, { startRemainder: 0, driven: "late" });
  for (const event of events) judge.see(event);
  return judge.verdicts();
}

export function shedInAll({ shed }: Tallies): number {
  return Object.values(shed).reduce((sum, strokes) => sum + strokes, 0);
}

/** What must hold of a plant and its journal, whatever happened to the feeds between them. */
export function checkPlant(plant: Plant, folder: string, settings: Settings): void {
  const { keepsNumber = true } = plant.options;
  const { tallies, events, strokes, register, notes } = readAll(folder);
  const numbers = plant.strokes.map(({ number }) => number);
  const counted = tallies.paced + tallies.primed;
  expect({
    twice: numbers.length - new Set(numbers).size,
    isSpaced: plant.leastSpacingMillis() * 1_000 >= settings.leastSpacingMicros,
    uncertain: keepsNumber ? tallies.uncertain : 0,
    unknown: strokes.filter((stroke) => stroke.endsWith("asked")),
    strokesBetween: counted - tallies.uncertain <= numbers.length && numbers.length <= counted,
    balance: tallies.earned - tallies.paced - tallies.owed - shedInAll(tallies),
    earned: tallies.earned - Math.floor((tallies.counted * settings.strokes) / settings.contacts),
    // What passed before the journal first knew the register is nobody's.
    lostContacts:
      register === undefined
        ? 0
        : ((plant.register - register.first + 2 ** 32) % 2 ** 32) -
          tallies.counted -
          tallies.ignored -
          tallies.rejected,
    broken: brokenLaws(settings, events),
    doubts: notes.filter((kind) => ["journal", "number-odd", "register-odd"].includes(kind)),
  }).toEqual({
    twice: 0,
    isSpaced: true,
    uncertain: 0,
    unknown: [],
    strokesBetween: true,
    balance: 0,
    earned: 0,
    lostContacts: 0,
    broken: [],
    doubts: [],
  });
}
