/**
 * What does a pacer remember? One flat record of whole numbers, beside the settings in force.
 *
 * Pacing layer. The record can be copied field by field, kept in a snapshot, and mirrored by a C struct. Flags are
 * 0 or 1; sets are bit masks over the name lists below.
 */
import { LAST_MICROS, LONG_AGO, type Micros, NO_WAKE, wholeMicros } from "./limits.js";
import type { Settings } from "./settings.js";

/** Why earned strokes were given up. The order is the order of the `shed…` fields. */
export const SHED_CAUSES = ["limit", "still", "hold", "inhibit", "trip", "power"] as const;
export type ShedCause = (typeof SHED_CAUSES)[number];

/**
 * What a pacer alarms. An alarm stands while what it tells of lasts:
 *
 * | alarm | raised when | until |
 * |---|---|---|
 * | stuck | the contact has stayed closed too long | it opens |
 * | silent | no contact has come for too long | the next contact |
 * | too-fast | a contact came sooner than the meter can make one | the next good contact |
 * | owed-limit | strokes were shed at the owed limit | nothing is owed |
 * | still-water | owed strokes were shed, since flow has stopped | the next contact |
 * | shed-in-hold | a hold shed what was owed | the hold ends |
 * | shed-in-inhibit | an inhibit shed strokes | the last inhibit ends |
 * | tripped | the guard saw too much | reset |
 * | prime-too-long | the prime override was held past its longest | it is released |
 * | shed-at-restart | a power loss shed what was owed | the next contact |
 * | change-refused | a change of settings needed confirmation | the next accepted change, or reset |
 */
export const ALARMS = [
  "stuck",
  "silent",
  "too-fast",
  "owed-limit",
  "still-water",
  "shed-in-hold",
  "shed-in-inhibit",
  "tripped",
  "prime-too-long",
  "shed-at-restart",
  "change-refused",
] as const;
export type Alarm = (typeof ALARMS)[number];

/** Bits of `State.alarms`, in the order of {@link ALARMS}. */
export const STUCK = 1;
export const SILENT = 2;
export const TOO_FAST = 4;
export const OWED_LIMIT = 8;
export const STILL_WATER = 16;
export const SHED_IN_HOLD = 32;
export const SHED_IN_INHIBIT = 64;
export const TRIPPED = 128;
export const PRIME_TOO_LONG = 256;
export const SHED_AT_RESTART = 512;
export const CHANGE_REFUSED = 1024;

export interface State {
  /** The settings in force. */
  settings: Settings;
  /** Time of the last step. */
  nowMicros: Micros;
  /** When it next needs a step, later than `nowMicros`; NO_WAKE for never. Waking early is harmless. */
  wakeAtMicros: Micros;
  /** The earliest of the wake-ups that are not strokes. */
  deadlineMicros: Micros;

  /** The meter's contact: 1 while closed, and since when it is closed or open. */
  lineClosed: number;
  lineSinceMicros: Micros;
  /** 1 once it has stayed open long enough since the last qualified closure. */
  lineArmed: number;
  /** Time of the last contact, and how long after the one before it came, up to the grace then in force. */
  contactMicros: Micros;
  intervalMicros: Micros;
  /** From when silence is measured. */
  listenMicros: Micros;

  /** contacts · m mod d, 0 to d − 1. */
  remainder: number;
  owed: number;
  /** When the next owed stroke is planned, and how far apart the strokes of the plan are: whole, and rest over parts. */
  planMicros: Micros;
  planStepMicros: Micros;
  planStepRest: number;
  planParts: number;
  planCarry: number;
  /** Time of the last stroke of either cause. */
  strokeMicros: Micros;

  held: number;
  /** Bit mask over INHIBIT_CAUSES. */
  inhibits: number;
  tripped: number;
  /** 1 while the override is pressed; 1 while it is obeyed; and since when. */
  primePressed: number;
  priming: number;
  primeSinceMicros: Micros;
  guardFullMicros: Micros;
  guardFullRest: number;

  /** Bit mask over ALARMS, and what the last step raised and cleared. */
  alarms: number;
  raised: number;
  cleared: number;

  /** Contacts that earned. */
  counted: number;
  /** Contacts that did not earn, while held or, as set, while priming. */
  ignored: number;
  /** Contacts that came sooner than the meter can make them. */
  rejected: number;
  /** Closures of the line that were bounce. */
  bounces: number;
  earned: number;
  paced: number;
  primed: number;
  shedLimit: number;
  shedStill: number;
  shedHold: number;
  shedInhibit: number;
  shedTrip: number;
  shedPower: number;
  /** Changes of settings that were refused. */
  refused: number;
}

/** A pacer that has seen nothing yet: contact open, nothing owed, remainder 0. */
export function newState(settings: Settings, startMicros: Micros = 0): State {
  const atMicros = wholeMicros(startMicros, 0, LAST_MICROS);
  return {
    settings,
    nowMicros: atMicros,
    wakeAtMicros: settings.silentMicros > 0 ? atMicros + settings.silentMicros : NO_WAKE,
    deadlineMicros: settings.silentMicros > 0 ? atMicros + settings.silentMicros : NO_WAKE,
    lineClosed: 0,
    lineSinceMicros: atMicros,
    lineArmed: 1,
    contactMicros: LONG_AGO,
    intervalMicros: settings.graceMicros,
    listenMicros: atMicros,
    remainder: 0,
    owed: 0,
    planMicros: atMicros,
    planStepMicros: 0,
    planStepRest: 0,
    planParts: 1,
    planCarry: 0,
    strokeMicros: LONG_AGO,
    held: 0,
    inhibits: 0,
    tripped: 0,
    primePressed: 0,
    priming: 0,
    primeSinceMicros: atMicros,
    guardFullMicros: atMicros,
    guardFullRest: 0,
    alarms: 0,
    raised: 0,
    cleared: 0,
    counted: 0,
    ignored: 0,
    rejected: 0,
    bounces: 0,
    earned: 0,
    paced: 0,
    primed: 0,
    shedLimit: 0,
    shedStill: 0,
    shedHold: 0,
    shedInhibit: 0,
    shedTrip: 0,
    shedPower: 0,
    refused: 0,
  };
}

/** A copy of a state, written out field by field so that it is one allocation of one shape on every engine. */
export function copyState(s: Readonly<State>): State {
  return {
    settings: s.settings,
    nowMicros: s.nowMicros,
    wakeAtMicros: s.wakeAtMicros,
    deadlineMicros: s.deadlineMicros,
    lineClosed: s.lineClosed,
    lineSinceMicros: s.lineSinceMicros,
    lineArmed: s.lineArmed,
    contactMicros: s.contactMicros,
    intervalMicros: s.intervalMicros,
    listenMicros: s.listenMicros,
    remainder: s.remainder,
    owed: s.owed,
    planMicros: s.planMicros,
    planStepMicros: s.planStepMicros,
    planStepRest: s.planStepRest,
    planParts: s.planParts,
    planCarry: s.planCarry,
    strokeMicros: s.strokeMicros,
    held: s.held,
    inhibits: s.inhibits,
    tripped: s.tripped,
    primePressed: s.primePressed,
    priming: s.priming,
    primeSinceMicros: s.primeSinceMicros,
    guardFullMicros: s.guardFullMicros,
    guardFullRest: s.guardFullRest,
    alarms: s.alarms,
    raised: s.raised,
    cleared: s.cleared,
    counted: s.counted,
    ignored: s.ignored,
    rejected: s.rejected,
    bounces: s.bounces,
    earned: s.earned,
    paced: s.paced,
    primed: s.primed,
    shedLimit: s.shedLimit,
    shedStill: s.shedStill,
    shedHold: s.shedHold,
    shedInhibit: s.shedInhibit,
    shedTrip: s.shedTrip,
    shedPower: s.shedPower,
    refused: s.refused,
  };
}

export function raise(s: State, alarm: number): void {
  if ((s.alarms & alarm) !== 0) return;
  s.alarms |= alarm;
  s.raised |= alarm;
}

export function clear(s: State, alarms: number): void {
  s.cleared |= s.alarms & alarms;
  s.alarms &= ~alarms;
}
