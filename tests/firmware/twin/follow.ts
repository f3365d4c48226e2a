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
  DARK_UNKNOWN,
  type Input,
  INHIBIT_CAUSES,
  newState,
  restoreSnapshot,
  type Settings,
  SNAPSHOT_BYTES,
  type State,
  stepInPlace,
  takeSnapshot,
  type TickBits,
  unwrapTicks,
  validateSettings,
} from "../../../lib/pacing/index.js";
import {
  ANSWER_WORDS,
  coreSnapshot,
  DURATION_MOST,
  faultOf,
  GAP_MOST,
  HORIZON,
  KINDS,
  OP,
  QUALIFY_MOST,
  RANGE,
  SETTING_WORDS,
  settingsOf,
  SNAPSHOT_WORDS,
  TWIN_SNAPSHOT_BYTES,
  twinSnapshot,
  WAKE_MOST,
} from "./words.js";

const MADE = { none: 0, paced: 1, primed: 2 } as const;
const REFUSALS = ["wrong length", "not a snapshot", "unknown version", "bad checksum", "impossible values"];

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
