/**
 * What does lib/pacing say to the commands that the twin's driver obeys? Test support.
 *
 * Commands and answers are those of driver.c. Time in the core is ticks here. The caller's counter becomes the core's
 * time by the rule of tallystroke.h: at most GAP_MOST ticks pass in a step, and none where the counter went back. The
 * projection is the whole record, as what it means: times as distances from now, ages no older than the horizon, counts
 * modulo 2^32; the plan while strokes are owed (and once it was left behind, only that it was: see driver.c), the press
 * while it is obeyed, the guard while not all of it is refilled.
 */
import {
  ALARMS,
  crc16,
  DARK_UNKNOWN,
  type Input,
  INHIBIT_CAUSES,
  newState,
  restoreSnapshot,
  type Settings,
  type SettingsInput,
  type SettingsVerdict,
  SNAPSHOT_BYTES,
  type State,
  stepInPlace,
  takeSnapshot,
  type TickBits,
  unwrapTicks,
  validateSettings,
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

const MADE = { none: 0, paced: 1, primed: 2 } as const;
const REFUSALS = ["wrong length", "not a snapshot", "unknown version", "bad checksum", "impossible values"];
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

/** Obeys the driver's commands with lib/pacing. */
export class Follower {
  readonly slots: Settings[] = [];
  s!: State;
  /** The caller's counter at the last step that moved it. */
  clock = 0;
  private snapshot: ArrayLike<number> = new Uint8Array(SNAPSHOT_BYTES);

  /** How many words follow the four of a command. */
  static moreWords(op: number): number {
    return op === OP.validate ? SETTING_WORDS : op === OP.load ? SNAPSHOT_WORDS : 0;
  }

  /** Obeys the command that stands at `at`, and writes the answer to `answer` from `to` on. */
  obey(words: Uint32Array, at: number, answer: Uint32Array, to: number): void {
    const [op = 0, now = 0, detail = 0, slot = 0] = words.subarray(at, at + 4);
    if (op < KINDS.length) {
      this.project(this.step(op, now, detail, slot), answer, to);
    } else if (op === OP.validate) {
      this.validate(slot, words.subarray(at + 4, at + 4 + SETTING_WORDS), answer.subarray(to));
    } else if (op === OP.start) {
      this.clock = now;
      this.s = newState(this.slots[slot] as Settings, now);
      this.project(0, answer, to);
    } else if (op === OP.take) {
      this.snapshot = takeSnapshot(this.s);
      const bytes = new Uint8Array(ANSWER_WORDS * 4);
      bytes.set(twinSnapshot(this.snapshot));
      answer.set(new Uint32Array(bytes.buffer), to);
    } else if (op === OP.load) {
      const bytes = new Uint8Array(words.slice(at + 4, at + 4 + SNAPSHOT_WORDS).buffer);
      this.snapshot = coreSnapshot(bytes.subarray(0, TWIN_SNAPSHOT_BYTES));
      this.project(0, answer, to);
    } else if (op === OP.unwrap) {
      answer.fill(0, to, to + ANSWER_WORDS);
      answer[to] = unwrapTicks(now, detail, slot as TickBits);
    } else this.project(this.restore(now, detail, slot & 0xff, slot >> 8), answer, to);
  }

  private step(op: number, now: number, detail: number, slot: number): number {
    const kind = KINDS[op] as (typeof KINDS)[number];
    const passed = (now - this.clock + RANGE) % RANGE;
    let atMicros = this.s.nowMicros + Math.min(passed, GAP_MOST);
    if (passed < RANGE / 2) this.clock = now;
    else atMicros = this.s.nowMicros - (RANGE - passed);
    let input: Input;
    if (kind === "inhibit-on" || kind === "inhibit-off") {
      input = { kind, atMicros, cause: INHIBIT_CAUSES[detail] ?? ("none such" as "other") };
    } else if (kind === "settings") {
      input = { kind, atMicros, settings: this.slots[slot] as Settings, confirmed: detail !== 0 };
    } else input = { kind, atMicros };
    return MADE[stepInPlace(this.s, input)];
  }

  private validate(slot: number, words: Uint32Array, answer: Uint32Array): void {
    const verdict = validateSettings(settingsOf(words));
    answer.fill(0, 0, ANSWER_WORDS);
    answer[0] = faultOf(words, verdict);
    if (answer[0] !== 0 || !verdict.ok) return;
    const { settings } = verdict;
    this.slots[slot] = settings;
    answer.set([
      0,
      settings.strokesPerContactMost,
      settings.guardIntervalMicros,
      settings.guardIntervalRest,
      Math.min(settings.guardToleranceMicros, DURATION_MOST - settings.guardIntervalMicros),
      settings.guardToleranceRest,
    ]);
  }

  private restore(now: number, dark: number, slot: number, lost: number): number {
    const restored = restoreSnapshot(
      this.slots[slot] as Settings,
      Array.from(this.snapshot).slice(lost),
      now,
      dark === RANGE - 1 ? DARK_UNKNOWN : dark,
    );
    if (!restored.ok) return 1 + REFUSALS.indexOf(restored.refusal);
    this.clock = now;
    this.s = restored.state;
    // The twin tells of the whole restart, the core of its last step: the rest of it stands in the effects.
    this.s.raised = 0;
    this.s.cleared = 0;
    for (const effect of restored.effects) {
      if (effect.kind === "alarm-on") this.s.raised |= 1 << ALARMS.indexOf(effect.alarm);
      if (effect.kind === "alarm-off") this.s.cleared |= 1 << ALARMS.indexOf(effect.alarm);
    }
    return 0;
  }

  private project(gave: number, answer: Uint32Array, to: number): void {
    projectRecord(this.s, this.clock, gave, answer, to);
  }
}

/** What a record means, in the words of an answer from `to` on. */
export function projectRecord(
  s: Readonly<State>,
  clock: number,
  gave: number,
  answer: Uint32Array,
  to: number,
): void {
  const now = s.nowMicros;
  const isPlanned = s.owed > 0;
  const isUsedUp = s.guardFullMicros >= now;
  let i = to;
  answer[i++] = gave;
  answer[i++] = clock;
  answer[i++] = Math.min(s.wakeAtMicros - now, WAKE_MOST);
  answer[i++] = Math.min(now - s.lineSinceMicros, HORIZON);
  answer[i++] = Math.min(now - s.contactMicros, HORIZON);
  answer[i++] = s.intervalMicros;
  answer[i++] = Math.min(now - s.listenMicros, HORIZON);
  answer[i++] = isPlanned ? Math.max(s.planMicros - now, -QUALIFY_MOST) : 0;
  answer[i++] = isPlanned ? s.planStepMicros : 0;
  answer[i++] = isPlanned ? s.planStepRest : 0;
  answer[i++] = isPlanned ? s.planParts : 0;
  answer[i++] = isPlanned ? s.planCarry : 0;
  answer[i++] = Math.min(now - s.strokeMicros, HORIZON);
  answer[i++] = s.priming ? Math.min(now - s.primeSinceMicros, HORIZON) : 0;
  answer[i++] = isUsedUp ? s.guardFullMicros - now : 0;
  answer[i++] = isUsedUp ? s.guardFullRest : 0;
  answer[i++] = s.owed;
  answer[i++] = s.remainder;
  answer[i++] = s.alarms;
  answer[i++] = s.raised;
  answer[i++] = s.cleared;
  answer[i++] = s.inhibits;
  answer[i++] =
    s.held |
    (s.tripped << 1) |
    (s.primePressed << 2) |
    (s.priming << 3) |
    (s.lineClosed << 4) |
    (s.lineArmed << 5);
  // A word takes a count modulo 2^32 by itself.
  answer[i++] = s.counted;
  answer[i++] = s.ignored;
  answer[i++] = s.rejected;
  answer[i++] = s.bounces;
  answer[i++] = s.earned;
  answer[i++] = s.paced;
  answer[i++] = s.primed;
  answer[i++] = s.shedLimit;
  answer[i++] = s.shedStill;
  answer[i++] = s.shedHold;
  answer[i++] = s.shedInhibit;
  answer[i++] = s.shedTrip;
  answer[i++] = s.shedPower;
  answer[i++] = s.refused;
}
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
function faultOf(w: Uint32Array, verdict: SettingsVerdict): number {
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
