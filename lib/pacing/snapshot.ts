/**
 * How does a pacer live through a power cut? A versioned, checksummed snapshot, and what a restart makes of it.
 *
 * Pacing layer. Times are kept as ages, since the clock may start anew. The layout, 8 bytes a field, most
 * significant first: "TS", version, number of fields, the fields in the order below, CRC-16/IBM-3740 of all before.
 */
import { planStrokes } from "./cadence.js";
import { carriedRemainder } from "./change.js";
import { crc16 } from "./crc16.js";
import { setDeadline } from "./deadline.js";
import { effectsBetween, type Effect } from "./effects.js";
import { INHIBIT_CAUSES } from "./input.js";
import { shedBeyondLimit, shedForPower } from "./ledger.js";
import { DAY, type Micros, NO_WAKE, OWED_LIMIT_MAX, RATIO_TERM_MAX, wholeMicros } from "./limits.js";
import type { Settings } from "./settings.js";
import { ALARMS, clear, copyState, newState, PRIME_TOO_LONG, type State } from "./state.js";
import { step } from "./step.js";

export const SNAPSHOT_VERSION = 1;

// Kept as they are.
const KEPT = [
  "remainder",
  "owed",
  "held",
  "inhibits",
  "tripped",
  "lineClosed",
  "lineArmed",
  "alarms",
  "counted",
  "ignored",
  "rejected",
  "bounces",
  "earned",
  "paced",
  "primed",
  "shedLimit",
  "shedStill",
  "shedHold",
  "shedInhibit",
  "shedTrip",
  "shedPower",
  "refused",
] as const;
// Beside them: the denominator of the remainder, age of the last contact, the interval before it, and what the guard has used up.
const FIELDS = KEPT.length + 5;
const HEADER_BYTES = 4;
const FIELD_BYTES = 8;

/** Length of a snapshot, in bytes. */
export const SNAPSHOT_BYTES = HEADER_BYTES + FIELDS * FIELD_BYTES + 2;

/** The largest count that is still exact. */
const COUNT_MAX = NO_WAKE;

/** An age older than any setting can tell from "never". */
const OLDEST: Micros = 30 * DAY;

/** Everything that must outlive a power cut. Its moment is `state.nowMicros`: step a wake first, to make that now. */
export function takeSnapshot(s: Readonly<State>): Uint8Array {
  const bytes = new Uint8Array(SNAPSHOT_BYTES);
  bytes[0] = 0x54;
  bytes[1] = 0x53;
  bytes[2] = SNAPSHOT_VERSION;
  bytes[3] = FIELDS;
  let at = HEADER_BYTES;
  const write = (value: number): void => {
    let rest = value;
    for (let i = FIELD_BYTES - 1; i >= 0; i--) {
      bytes[at + i] = rest % 256;
      rest = (rest - (rest % 256)) / 256;
    }
    at += FIELD_BYTES;
  };
  for (let i = 0; i < KEPT.length; i++) write(s[KEPT[i] as (typeof KEPT)[number]]);
  write(s.settings.contacts);
  write(wholeMicros(s.nowMicros - s.contactMicros, 0, OLDEST));
  write(wholeMicros(s.intervalMicros, 0, OLDEST));
  write(wholeMicros(s.guardFullMicros - s.nowMicros, 0, COUNT_MAX));
  write(s.guardFullMicros > s.nowMicros ? s.guardFullRest : 0);
  const crc = crc16(bytes, at);
  bytes[at] = crc >> 8;
  bytes[at + 1] = crc & 0xff;
  return bytes;
}

/** Why a snapshot was refused: nothing of a refused one is used. */
export type SnapshotRefusal =
  "wrong length" | "not a snapshot" | "unknown version" | "bad checksum" | "impossible values";

export type Restored =
  | {
      readonly ok: true;
      readonly state: State;
      readonly effects: readonly Effect[];
      readonly wakeAtMicros: Micros;
    }
  | { readonly ok: false; readonly refusal: SnapshotRefusal };

/** The restart does not know how long it was dark. */
export const DARK_UNKNOWN = -1;

/**
 * Starts a pacer from a snapshot at `atMicros`, `darkMicros` after it was taken (DARK_UNKNOWN where no clock ran).
 *
 * What was owed is still fed if the still-water grace has not passed meanwhile; otherwise, or where the dark time is
 * not known, it is shed and counted. The first stroke keeps the least spacing from the restart. Hold, inhibits and
 * trip are as they were; the prime override must be pressed anew.
 */
export function restoreSnapshot(
  settings: Settings,
  bytes: ArrayLike<number>,
  startMicros: Micros,
  darkMicros: Micros = DARK_UNKNOWN,
): Restored {
  const refusal = faultOf(bytes);
  if (refusal !== undefined) return { ok: false, refusal };
  const saved = readFields(bytes);
  const s = newState(settings, startMicros);
  for (let i = 0; i < KEPT.length; i++) s[KEPT[i] as (typeof KEPT)[number]] = saved[i] as number;
  const times = timesOf(saved);
  if (!isSound(s, saved, times)) return { ok: false, refusal: "impossible values" };
  s.remainder = carriedRemainder(s.remainder, times, settings);
  resumeTimes(s, times, darkMicros);

  const before = copyState(s);
  clear(s, PRIME_TOO_LONG);
  if (s.contactMicros + settings.graceMicros <= s.nowMicros) shedForPower(s);
  shedBeyondLimit(s);
  planStrokes(s, s.nowMicros);
  setDeadline(s);
  s.wakeAtMicros = s.nowMicros;
  const effects = effectsBetween(before, s);
  const woken = step(s, { kind: "wake", atMicros: s.nowMicros });
  return {
    ok: true,
    state: woken.state,
    effects: effects.concat(woken.effects),
    wakeAtMicros: woken.wakeAtMicros,
  };
}

/** The fields beside those that are kept as they are. */
interface SavedTimes {
  readonly contacts: number;
  readonly ageMicros: Micros;
  readonly intervalMicros: Micros;
  readonly guardMicros: Micros;
  readonly guardRest: number;
}

function timesOf(saved: readonly number[]): SavedTimes {
  const [contacts, ageMicros, intervalMicros, guardMicros, guardRest] = saved.slice(KEPT.length) as [
    number,
    number,
    number,
    number,
    number,
  ];
  return { contacts, ageMicros, intervalMicros, guardMicros, guardRest };
}

/** Turns ages back into times, as of the restart. Not knowing how long it was dark, nothing owed is young enough. */
function resumeTimes(s: State, times: SavedTimes, darkMicros: Micros): void {
  const isKnown = darkMicros >= 0;
  const dark = isKnown ? wholeMicros(darkMicros, 0, OLDEST) : OLDEST;
  s.lineSinceMicros = s.nowMicros;
  s.strokeMicros = s.nowMicros;
  s.contactMicros = s.nowMicros - wholeMicros(times.ageMicros, 0, OLDEST) - dark;
  s.intervalMicros = times.intervalMicros;
  // … but the guard's budget may not have refilled at all. No more of it is used up than the guard now in force has.
  const fullest = s.settings.guardToleranceMicros + s.settings.guardIntervalMicros + 1;
  s.guardFullMicros = s.nowMicros + wholeMicros(times.guardMicros - (isKnown ? dark : 0), 0, fullest);
  s.guardFullRest = times.guardRest < s.settings.guardBudgetStrokes ? times.guardRest : 0;
}

function faultOf(bytes: ArrayLike<number>): SnapshotRefusal | undefined {
  if (bytes.length !== SNAPSHOT_BYTES) return "wrong length";
  if (bytes[0] !== 0x54 || bytes[1] !== 0x53) return "not a snapshot";
  if (bytes[2] !== SNAPSHOT_VERSION || bytes[3] !== FIELDS) return "unknown version";
  const at = SNAPSHOT_BYTES - 2;
  const crc = byteAt(bytes, at) * 256 + byteAt(bytes, at + 1);
  return crc16(bytes, at) === crc ? undefined : "bad checksum";
}

function readFields(bytes: ArrayLike<number>): number[] {
  const fields: number[] = [];
  for (let field = 0; field < FIELDS; field++) {
    let value = 0;
    for (let i = 0; i < FIELD_BYTES; i++) {
      value = value * 256 + byteAt(bytes, HEADER_BYTES + field * FIELD_BYTES + i);
    }
    fields.push(value);
  }
  return fields;
}

/** A byte as the checksum sees it: signed bytes, as some platforms have, read as the same snapshot. */
function byteAt(bytes: ArrayLike<number>, at: number): number {
  return (bytes[at] as number) & 0xff;
}

/** A checksum shows that bytes are as written, not that they were ever right. */
function isSound(s: State, saved: readonly number[], { contacts }: SavedTimes): boolean {
  const shed = s.shedLimit + s.shedStill + s.shedHold + s.shedInhibit + s.shedTrip + s.shedPower;
  const stopped = s.held + s.inhibits + s.tripped > 0;
  for (let i = 0; i < saved.length; i++) if ((saved[i] as number) > COUNT_MAX) return false;
  return (
    contacts <= RATIO_TERM_MAX &&
    s.remainder < contacts &&
    s.owed <= OWED_LIMIT_MAX &&
    s.earned === s.paced + s.owed + shed &&
    s.held <= 1 &&
    s.tripped <= 1 &&
    s.lineClosed <= 1 &&
    s.lineArmed <= 1 &&
    s.inhibits < 1 << INHIBIT_CAUSES.length &&
    s.alarms < 1 << ALARMS.length &&
    !(stopped && s.owed > 0)
  );
}
