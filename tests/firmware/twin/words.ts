/**
 * What do the words between the lockstep test and driver.c mean? Test support.
 *
 * The limits of the twin, its ops, the words of an answer, settings as words and back, and snapshots of either layout.
 */
import {
  crc16,
  type Settings,
  type SettingsInput,
  SNAPSHOT_BYTES,
  type SettingsVerdict,
} from "../../../lib/pacing/index.js";

export const DURATION_MOST = 1_350_000_000;
export const QUALIFY_MOST = 10_000_000;
export const HORIZON = DURATION_MOST + QUALIFY_MOST;
export const WAKE_MOST = 2 ** 30;
export const GAP_MOST = 1_570_000_000;
export const RANGE = 2 ** 32;

/** The input kinds of the twin, in its order; then the other ops of the driver. */
export const KINDS = [
  "wake",
  "close",
  "open",
  "contact",
  "prime-on",
  "prime-off",
  "hold-on",
  "hold-off",
  "inhibit-on",
  "inhibit-off",
  "reset",
  "settings",
] as const;
export const OP = { start: 16, validate: 17, take: 18, load: 19, restore: 20, unwrap: 21 } as const;
export const SLOTS = 4;
export const SETTING_WORDS = 18;
export const TWIN_SNAPSHOT_BYTES = 114;
export const SNAPSHOT_WORDS = Math.ceil(TWIN_SNAPSHOT_BYTES / 4);

/** The words of an answer, for a person who reads a difference. */
export const WORDS = (
  "gave clock wake line-since contact interval listen plan plan-step plan-step-rest plan-parts plan-carry " +
  "stroke prime-since guard-full guard-full-rest owed remainder alarms raised cleared inhibits flags counted ignored " +
  "rejected bounces earned paced primed shed-limit shed-still shed-hold shed-inhibit shed-trip shed-power refused"
).split(" ");
export const ANSWER_WORDS = WORDS.length;

/** The settings in the order of the twin's faults; 0 is sound. */
export const FAULTS = [
  "",
  "strokes",
  "contacts",
  "leastSpacingMicros",
  "owedLimitStrokes",
  "graceMicros",
  "longestPrimeMicros",
  "primeSpacingMicros",
  "guardBudgetStrokes",
  "guardPeriodMicros",
  "guardBurstStrokes",
  "closedMicros",
  "openMicros",
  "leastContactMicros",
  "stuckMicros",
  "silentMicros",
  "largestIncrease",
  "cadence",
  "contactsDuringPrime",
];

const SETTING_OF_WORD = [
  "strokes",
  "contacts",
  "leastSpacingMicros",
  "cadence",
  "contactsDuringPrime",
  "owedLimitStrokes",
  "graceMicros",
  "longestPrimeMicros",
  "primeSpacingMicros",
  "guardBudgetStrokes",
  "guardPeriodMicros",
  "guardBurstStrokes",
  "closedMicros",
  "openMicros",
  "leastContactMicros",
  "stuckMicros",
  "silentMicros",
  "largestIncrease",
];
const CADENCES = ["spread", "prompt"] as const;
const DURING_PRIME = ["earn", "ignore"] as const;

/** Settings in the words of driver.c. */
export function settingsOf(w: Uint32Array): SettingsInput {
  const at = (i: number): number => w[i] as number;
  return {
    strokes: at(0),
    contacts: at(1),
    leastSpacingMicros: at(2),
    cadence: CADENCES[at(3)] ?? ("none such" as "spread"),
    contactsDuringPrime: DURING_PRIME[at(4)] ?? ("none such" as "earn"),
    owedLimitStrokes: at(5),
    graceMicros: at(6),
    longestPrimeMicros: at(7),
    primeSpacingMicros: at(8),
    guardBudgetStrokes: at(9),
    guardPeriodMicros: at(10),
    guardBurstStrokes: at(11),
    closedMicros: at(12),
    openMicros: at(13),
    leastContactMicros: at(14),
    stuckMicros: at(15),
    silentMicros: at(16),
    largestIncrease: at(17),
  };
}

const FIELDS = 27;
/** What the twin asks beyond lib/pacing: durations that its ticks can hold, the guard's reach among them. */
export function isInReach(w: Uint32Array): boolean {
  const [budget = 0, period = 0, burst = 0] = w.subarray(9, 12);
  if (budget === 0) return true;
  const whole = Math.floor(period / budget);
  return whole + Math.floor(((burst - 1) * period) / budget) <= DURATION_MOST;
}

/** The first fault that the twin must name: single values in the order of FAULTS, then how they stand to each other. */
export function faultOf(w: Uint32Array, verdict: SettingsVerdict): number {
  const tooLong = [2, 6, 7, 8, 10, 14, 15, 16]
    .filter((i) => (w[i] as number) > DURATION_MOST)
    .map((i) => FAULTS.indexOf(SETTING_OF_WORD[i] as string));
  const faults = verdict.ok ? [] : verdict.faults;
  const singles = faults.filter(({ mend }) => /^give (a whole number of .*|\w+ or \w+)$/.test(mend));
  const first = [...tooLong, ...singles.map(({ setting }) => FAULTS.indexOf(setting))].sort(
    (a, b) => a - b,
  )[0];
  if (first !== undefined) return first;
  if (faults.length > 0) return FAULTS.indexOf(faults[0]?.setting ?? "");
  return isInReach(w) ? 0 : FAULTS.indexOf("guardBurstStrokes");
}

/** … and the way back. */
export function wordsOf(s: Settings): Uint32Array {
  return Uint32Array.of(
    s.strokes,
    s.contacts,
    s.leastSpacingMicros,
    CADENCES.indexOf(s.cadence),
    DURING_PRIME.indexOf(s.contactsDuringPrime),
    s.owedLimitStrokes,
    s.graceMicros,
    s.longestPrimeMicros,
    s.primeSpacingMicros,
    s.guardBudgetStrokes,
    s.guardPeriodMicros,
    s.guardBurstStrokes,
    s.closedMicros,
    s.openMicros,
    s.leastContactMicros,
    s.stuckMicros,
    s.silentMicros,
    s.largestIncrease,
  );
}

/** Where some of the fields of a snapshot stand. */
export const FIELD = {
  owed: 1,
  earned: 12,
  paced: 13,
  firstShed: 15,
  lastShed: 20,
  age: 23,
  /** Counts that no balance binds. */
  free: [8, 9, 10, 11, 14, 21],
  count: FIELDS,
} as const;

/** The twin's snapshot of the same: version 2, 4 bytes a field, the age of the last contact no older than the horizon. */
export function twinSnapshot(core: ArrayLike<number>): Uint8Array {
  const from = new DataView(Uint8Array.from(core).buffer);
  const bytes = new Uint8Array(TWIN_SNAPSHOT_BYTES);
  const to = new DataView(bytes.buffer);
  bytes.set([0x54, 0x53, 2, FIELDS]);
  for (let field = 0; field < FIELDS; field++) {
    const value = Number(from.getBigUint64(4 + field * 8));
    to.setUint32(4 + field * 4, field === FIELD.age ? Math.min(value, HORIZON) : value % RANGE);
  }
  to.setUint16(4 + FIELDS * 4, crc16(bytes, 4 + FIELDS * 4));
  return bytes;
}

/** The way back, faults and all: a wrong mark, version or checksum stays one. */
export function coreSnapshot(twin: Uint8Array): Uint8Array {
  const from = new DataView(Uint8Array.from(twin).buffer);
  const bytes = new Uint8Array(SNAPSHOT_BYTES);
  const to = new DataView(bytes.buffer);
  bytes.set([from.getUint8(0), from.getUint8(1), from.getUint8(2) - 1, from.getUint8(3)]);
  const at = (field: number): number => from.getUint32(4 + field * 4);
  for (let field = 0; field < FIELDS; field++) to.setBigUint64(4 + field * 8, BigInt(at(field)));
  // What balances modulo 2^32 has an exact balance with it.
  let accounted = at(FIELD.owed) + at(FIELD.paced);
  for (let field: number = FIELD.firstShed; field <= FIELD.lastShed; field++) accounted += at(field);
  if (accounted % RANGE === at(FIELD.earned)) to.setBigUint64(4 + FIELD.earned * 8, BigInt(accounted));
  const end = 4 + FIELDS * 4;
  const damage = from.getUint16(end) ^ crc16(twin, end);
  to.setUint16(4 + FIELDS * 8, crc16(bytes, 4 + FIELDS * 8) ^ damage);
  return bytes;
}
