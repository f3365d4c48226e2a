/**
 * From what does a feed go on, and what became of the stroke that was under way? Harness layer, without any device.
 *
 * The journal tells what was kept, the pump the last stroke that it made, the boot-time clock how long it was dark. In
 * doubt nothing is fed that may have been fed already: then what was owed is shed, and said so.
 */
import {
  DARK_UNKNOWN,
  type Micros,
  newState,
  restoreSnapshot,
  type Settings,
  type State,
} from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { countedOn, countedSince } from "../field/register.js";
import { JournalError } from "../journal/fault.js";
import type { Kept, RunRecord } from "../journal/record.js";
import type { LostTail } from "../journal/head.js";
import { many } from "../report/words.js";
import { type BootTime, darkSince } from "./clock.js";
import type { Trouble } from "./status.js";

/** What is wrong at a start, before there is a time for it. */
export type StartTrouble = Omit<Trouble, "atMicros">;

export interface Restart {
  readonly state: State;
  /** What the trace says of the dark, and of what the start shed. */
  readonly events: readonly TraceEvent[];
  /** Since the last step. Undefined where nobody knows, and at the first start. */
  readonly darkMicros: Micros | undefined;
  /** Since the feed was last known to be alive: how old contacts that were missed can be. */
  readonly unheardMicros: Micros | undefined;
  readonly resolved: RunRecord["resolved"];
  readonly uncertain: number;
  /** The last stroke that counts as made; the next one bears the number after it. */
  readonly number: number;
  readonly troubles: readonly StartTrouble[];
}

export interface RestartFrom {
  readonly folder: string;
  readonly kept: Kept | undefined;
  readonly lost: LostTail | undefined;
  /** For a new journal; an old one goes on with its own until they are changed. */
  readonly settings: Settings;
  readonly boot: BootTime | undefined;
  /** Of the pump; undefined where it keeps no number. */
  readonly pumpLast: number | undefined;
}

/** Throws a {@link JournalError} where the journal holds no sound snapshot. */
export function restart({ folder, kept, lost, settings, boot, pumpLast }: RestartFrom): Restart {
  const troubles: StartTrouble[] = lost === undefined ? [] : [lostWords(lost)];
  if (kept === undefined) {
    return {
      state: newState(settings),
      events: [],
      darkMicros: undefined,
      unheardMicros: undefined,
      resolved: undefined,
      uncertain: 0,
      number: pumpLast ?? 0,
      troubles,
    };
  }
  const stroke = resolve(kept, pumpLast);
  if (stroke.trouble !== undefined) troubles.push(stroke.trouble);
  const isSure = lost === undefined && !stroke.isBeyond;
  const darkMicros = isSure ? darkSince(kept.boot, boot) : undefined;
  const atMicros = kept.atMicros + (darkMicros ?? 0);
  const bytes = stroke.resolved === "unmade" ? kept.unmade : kept.snapshot;
  const restored = restoreSnapshot(kept.settings, bytes ?? [], atMicros, darkMicros ?? DARK_UNKNOWN);
  if (!restored.ok) throw unsound(folder, restored.refusal);
  return {
    state: restored.state,
    events: [
      { kind: "power-off", atMicros: kept.atMicros },
      { kind: "power-on", atMicros, darkKnown: darkMicros !== undefined },
      ...restored.effects,
    ],
    darkMicros,
    unheardMicros: isSure ? darkSince(kept.aliveBoot, boot) : undefined,
    resolved: stroke.resolved,
    uncertain: kept.tallies.uncertain + (stroke.resolved === "uncertain" ? 1 : 0),
    number: stroke.number,
    troubles,
  };
}

interface Resolved extends Pick<Restart, "resolved" | "number"> {
  readonly trouble?: StartTrouble;
  /** The pump made strokes of which the journal knows nothing. */
  readonly isBeyond: boolean;
}

function resolve({ number, unmade }: Kept, pumpLast: number | undefined): Resolved {
  const isOpen = unmade !== undefined;
  if (pumpLast === undefined) {
    const resolved = isOpen ? "uncertain" : undefined;
    return { resolved, number, isBeyond: false, ...(isOpen ? { trouble: uncertainWords(number) } : {}) };
  }
  if (pumpLast === number) return { resolved: isOpen ? "made" : undefined, number, isBeyond: false };
  if (isOpen && countedOn(pumpLast, 1) === number) {
    return { resolved: "unmade", number: pumpLast, isBeyond: false };
  }
  const beyond = countedSince(number, pumpLast);
  if (beyond !== undefined) {
    const trouble = beyondWords(beyond, number, pumpLast);
    return { resolved: isOpen ? "made" : undefined, number: pumpLast, isBeyond: true, trouble };
  }
  const trouble = oddWords(number, pumpLast, isOpen);
  return { resolved: isOpen ? "uncertain" : undefined, number: pumpLast, isBeyond: false, trouble };
}

function lostWords(lost: LostTail): StartTrouble {
  const words =
    lost === "unknown"
      ? "The journal's witness is missing or damaged, so nobody can say whether the journal is whole; what was owed was shed."
      : `The journal lost its last ${many(lost.step, "step")} (${many(lost.contacts, "contact")}, ` +
        `${many(lost.strokes, "stroke")}); what was owed was shed, so that nothing is fed twice. Check the disk.`;
  return { kind: "journal", words };
}

function uncertainWords(number: number): StartTrouble {
  return {
    kind: "uncertain-stroke",
    words:
      `Stroke ${number} was asked for when the feed was cut off, and the pump cannot say whether it made it: ` +
      "it counts as made and is not repeated.",
  };
}

function beyondWords(beyond: number, number: number, pumpLast: number): StartTrouble {
  return {
    kind: "number-odd",
    words:
      `The pump made ${many(beyond, "stroke")} of which this journal knows nothing (${pumpLast} is its last, ${number} the journal's): ` +
      "what was owed was shed, so that nothing is fed twice. Find out what else works this pump.",
  };
}

function oddWords(number: number, pumpLast: number, isOpen: boolean): StartTrouble {
  return {
    kind: "number-odd",
    words:
      `The pump's last stroke is ${pumpLast} where the journal has ${number}: it is another pump, or it lost its count` +
      `${isOpen ? "; the stroke that was under way is uncertain, counts as made and is not repeated" : ""}. ` +
      "Check which pump this is.",
  };
}

function unsound(folder: string, refusal: string): JournalError {
  return new JournalError({
    kind: "damaged",
    message: `${folder}: the journal is damaged: its snapshot is refused (${refusal})`,
    mend: "keep the folder as it is, and name a new one with --journal",
  });
}
