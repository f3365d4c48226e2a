/**
 * Which settings can keep the laws? Validates once, names every fault with its mend, all at once.
 *
 * Pacing layer. What comes out is branded and frozen: a step takes nothing else, so after this the core
 * cannot fail. Divisions that the core needs again and again (the guard's) are done here, exactly.
 */
import {
  DAY,
  GUARD_STROKES_MAX,
  HOUR,
  MINUTE,
  type Micros,
  OWED_LIMIT_MAX,
  RATIO_TERM_MAX,
  SECOND,
} from "./limits.js";
import { admitStroke, type GuardBucket } from "./guard.js";

/** How owed strokes are laid out in time: evenly over the last contact interval, or as soon as the cap allows. */
export type Cadence = "spread" | "prompt";
/** What a contact is worth while the prime override is held. */
export type ContactsDuringPrime = "earn" | "ignore";
/**
 * Why a stroke's volume is trusted: the pump stands at its full manual stroke setting and delivers its rated
 * volume, or millilitres per stroke were measured by a drawdown at the setting that is in use.
 */
export type StrokeBasis = "full" | "measured";

/** What a user may set. Counts are whole; durations are whole microseconds. */
export interface SettingsInput {
  /** m of the ratio m:d, 1 to 65,535: strokes for every `contacts` contacts. */
  readonly strokes: number;
  /** d of the ratio m:d, 1 to 65,535. */
  readonly contacts: number;
  /** The rate cap: least time between any two strokes of either cause, 1 µs to 1 h. Exactly this far apart is allowed. */
  readonly leastSpacingMicros: Micros;
  /** Default `spread`. */
  readonly cadence?: Cadence;
  /** Most strokes that may be owed; beyond it they are shed. Up to 1,000,000; default 10 contacts' worth. */
  readonly owedLimitStrokes?: number;
  /** Still-water grace: how long after the last contact owed strokes may still be made. Up to 1 day; default 90 s. */
  readonly graceMicros?: Micros;
  /** Longest time that one press of the prime override is obeyed, up to 1 h; default 60 s. */
  readonly longestPrimeMicros?: Micros;
  /** Time between primed strokes, at least `leastSpacingMicros`, up to 1 h; default `leastSpacingMicros`. */
  readonly primeSpacingMicros?: Micros;
  /** Default `earn`. */
  readonly contactsDuringPrime?: ContactsDuringPrime;
  /** Guard: strokes per `guardPeriodMicros`, of every cause, up to 65,535. 0, the default, is no guard. */
  readonly guardBudgetStrokes?: number;
  /** Guard: the period of the budget, up to 1 day; default 1 h. */
  readonly guardPeriodMicros?: Micros;
  /** Guard: strokes that may come at once after a rest, up to 65,535; default the whole budget. */
  readonly guardBurstStrokes?: number;
  /** A closure counts once it has stayed closed this long, up to 10 s; default 10 ms. */
  readonly closedMicros?: Micros;
  /** … after the contact has stayed open this long, up to 10 s; default 10 ms. */
  readonly openMicros?: Micros;
  /** Contacts closer than the meter can physically make are rejected, up to 1 h; 0, the default, rejects none. */
  readonly leastContactMicros?: Micros;
  /** Closed for longer than this is alarmed as stuck, up to 7 days; 0 is never; default 1 h. */
  readonly stuckMicros?: Micros;
  /** No contact for longer than this is alarmed as silent, up to 7 days; 0 is never; default 1 day. */
  readonly silentMicros?: Micros;
  /** A change of settings that multiplies the feed by more than this must be confirmed, 1 to 1,000; default 2. */
  readonly largestIncrease?: number;
  /** Default `full`. */
  readonly strokeBasis?: StrokeBasis;
}

declare const valid: unique symbol;

/** Settings that have passed {@link validateSettings}, complete and frozen. */
export type Settings = Readonly<Required<SettingsInput>> & {
  /** Most strokes that one contact can earn: ⌈m/d⌉. */
  readonly strokesPerContactMost: number;
  /** The guard's emission interval, period / budget, as whole microseconds and a rest over the budget. */
  readonly guardIntervalMicros: Micros;
  readonly guardIntervalRest: number;
  /** The guard's tolerance, (burst − 1) · interval, in the same two parts. */
  readonly guardToleranceMicros: Micros;
  readonly guardToleranceRest: number;
  readonly [valid]: true;
};

/** One thing that is wrong with settings: where, what, and what to do. */
export interface SettingsFault {
  readonly setting: string;
  readonly fault: string;
  readonly mend: string;
}

export type SettingsVerdict =
  | { readonly ok: true; readonly settings: Settings }
  | { readonly ok: false; readonly faults: readonly SettingsFault[] };

/** What must be said wherever a ratio is acted on. */
export const FULL_STROKE_STATEMENT =
  "A ratio is right only if every stroke delivers the volume it was worked out with: set the pump's manual stroke " +
  "adjustment to full and use its rated volume, or measure millilitres per stroke by a drawdown at the adjustment in use.";

interface Whole {
  readonly least: number;
  readonly most: number;
  readonly unit: string;
}

// Ranges of the numeric settings, in the order in which faults are told.
const WHOLES: { readonly [name: string]: Whole } = {
  strokes: { least: 1, most: RATIO_TERM_MAX, unit: "strokes" },
  contacts: { least: 1, most: RATIO_TERM_MAX, unit: "contacts" },
  leastSpacingMicros: { least: 1, most: HOUR, unit: "µs" },
  owedLimitStrokes: { least: 1, most: OWED_LIMIT_MAX, unit: "strokes" },
  graceMicros: { least: 1, most: DAY, unit: "µs" },
  longestPrimeMicros: { least: 1, most: HOUR, unit: "µs" },
  primeSpacingMicros: { least: 1, most: HOUR, unit: "µs" },
  guardBudgetStrokes: { least: 0, most: GUARD_STROKES_MAX, unit: "strokes" },
  guardPeriodMicros: { least: 1, most: DAY, unit: "µs" },
  guardBurstStrokes: { least: 1, most: GUARD_STROKES_MAX, unit: "strokes" },
  closedMicros: { least: 0, most: 10 * SECOND, unit: "µs" },
  openMicros: { least: 0, most: 10 * SECOND, unit: "µs" },
  leastContactMicros: { least: 0, most: HOUR, unit: "µs" },
  stuckMicros: { least: 0, most: 7 * DAY, unit: "µs" },
  silentMicros: { least: 0, most: 7 * DAY, unit: "µs" },
  largestIncrease: { least: 1, most: 1_000, unit: "times" },
};

const CHOICES: { readonly [name: string]: readonly string[] } = {
  cadence: ["spread", "prompt"],
  contactsDuringPrime: ["earn", "ignore"],
  strokeBasis: ["full", "measured"],
};

/**
 * Checks settings and completes them with their defaults.
 *
 * Takes anything at all, never throws. Every fault is reported, each with its mend; relations between settings
 * are looked at once the single values are sound.
 */
export function validateSettings(input: SettingsInput): SettingsVerdict {
  if (typeof input !== "object" || (input as unknown) === null) {
    const fault = {
      setting: "settings",
      fault: "is not an object",
      mend: "give an object of named settings",
    };
    return { ok: false, faults: [fault] };
  }
  const complete = withDefaults(input);
  let faults = singleFaults(complete);
  if (faults.length === 0) faults = relationFaults(complete);
  return faults.length === 0 ? { ok: true, settings: derive(complete) } : { ok: false, faults };
}

function withDefaults(input: SettingsInput): Required<SettingsInput> {
  const defaults: { readonly [name: string]: unknown } = {
    cadence: "spread",
    owedLimitStrokes: least(10 * mostPerContact(input), OWED_LIMIT_MAX),
    graceMicros: 90 * SECOND,
    longestPrimeMicros: MINUTE,
    primeSpacingMicros: input.leastSpacingMicros,
    contactsDuringPrime: "earn",
    guardBudgetStrokes: 0,
    guardPeriodMicros: HOUR,
    guardBurstStrokes: input.guardBudgetStrokes === 0 ? 1 : (input.guardBudgetStrokes ?? 1),
    closedMicros: 10_000,
    openMicros: 10_000,
    leastContactMicros: 0,
    stuckMicros: HOUR,
    silentMicros: DAY,
    largestIncrease: 2,
    strokeBasis: "full",
  };
  const given = input as unknown as { readonly [name: string]: unknown };
  // No prototype: a setting that is named like a member of every object is a setting like any other.
  const complete = Object.create(null) as { [name: string]: unknown };
  for (const name of Object.keys(defaults)) complete[name] = defaults[name];
  for (const name of Object.keys(given)) if (given[name] !== undefined) complete[name] = given[name];
  return complete as unknown as Required<SettingsInput>;
}

function singleFaults(complete: Required<SettingsInput>): SettingsFault[] {
  const values = complete as unknown as { readonly [name: string]: unknown };
  const faults: SettingsFault[] = [];
  for (const name of Object.keys(WHOLES)) {
    const { least, most, unit } = WHOLES[name] as Whole;
    const value = values[name];
    if (typeof value !== "number" || value % 1 !== 0 || !(value >= least && value <= most)) {
      const fault = value === undefined ? "is missing" : `is ${show(value)}`;
      faults.push({ setting: name, fault, mend: `give a whole number of ${unit} from ${least} to ${most}` });
    }
  }
  for (const name of Object.keys(CHOICES)) {
    const choices = CHOICES[name] as readonly string[];
    if (choices.indexOf(values[name] as string) < 0) {
      faults.push({
        setting: name,
        fault: `is ${show(values[name])}`,
        mend: `give ${choices.join(" or ")}`,
      });
    }
  }
  for (const name of Object.keys(values)) {
    if (!isNamedIn(WHOLES, name) && !isNamedIn(CHOICES, name)) {
      faults.push({
        setting: name,
        fault: "is not a setting",
        mend: "take it out, or see SettingsInput for the names",
      });
    }
  }
  return faults;
}

function isNamedIn(list: object, name: string): boolean {
  return Object.prototype.hasOwnProperty.call(list, name);
}

// Some objects throw when they are turned into a string.
function show(value: unknown): string {
  return typeof value === "number" || typeof value === "string" ? String(value) : `of type ${typeof value}`;
}

function relationFaults(s: Required<SettingsInput>): SettingsFault[] {
  const most = mostPerContact(s);
  const faults: SettingsFault[] = [];
  const check = (sound: boolean, setting: string, fault: string, mend: string): void => {
    if (!sound) faults.push({ setting, fault, mend });
  };
  check(
    s.owedLimitStrokes >= most,
    "owedLimitStrokes",
    `is ${s.owedLimitStrokes}, below the ${most} strokes that one contact can earn, so every such contact would shed`,
    `give at least ${most}`,
  );
  check(
    s.graceMicros >= most * s.leastSpacingMicros,
    "graceMicros",
    `is ${s.graceMicros}, too short to make the ${most} strokes of one contact at the cap`,
    `give at least ${most * s.leastSpacingMicros}, or a shorter leastSpacingMicros`,
  );
  check(
    s.primeSpacingMicros >= s.leastSpacingMicros,
    "primeSpacingMicros",
    `is ${s.primeSpacingMicros}, closer than the cap allows`,
    `give at least ${s.leastSpacingMicros}`,
  );
  check(
    s.stuckMicros === 0 || s.stuckMicros > s.closedMicros,
    "stuckMicros",
    `is ${s.stuckMicros}, no longer than an ordinary closure (${s.closedMicros})`,
    `give more than ${s.closedMicros}, or 0 for never`,
  );
  check(
    s.guardBudgetStrokes === 0 || guardAdmitsOneContact(derive(s)),
    "guardBurstStrokes",
    `is ${s.guardBurstStrokes}: the ${most} strokes of a single contact would trip the guard`,
    `give at least ${most}`,
  );
  return faults;
}

/** Runs the strokes of one contact, as close as the cap allows, through an empty bucket. */
function guardAdmitsOneContact(settings: Settings): boolean {
  const bucket: GuardBucket = { guardFullMicros: 0, guardFullRest: 0 };
  for (let made = 0; made < settings.strokesPerContactMost; made++) {
    if (!admitStroke(bucket, settings, made * settings.leastSpacingMicros)) return false;
  }
  return true;
}

function derive(complete: Required<SettingsInput>): Settings {
  const { guardPeriodMicros: period, guardBudgetStrokes, guardBurstStrokes } = complete;
  const budget = guardBudgetStrokes === 0 ? 1 : guardBudgetStrokes;
  const tolerance = (guardBurstStrokes - 1) * period;
  return Object.freeze({
    strokes: complete.strokes,
    contacts: complete.contacts,
    leastSpacingMicros: complete.leastSpacingMicros,
    cadence: complete.cadence,
    owedLimitStrokes: complete.owedLimitStrokes,
    graceMicros: complete.graceMicros,
    longestPrimeMicros: complete.longestPrimeMicros,
    primeSpacingMicros: complete.primeSpacingMicros,
    contactsDuringPrime: complete.contactsDuringPrime,
    guardBudgetStrokes,
    guardPeriodMicros: period,
    guardBurstStrokes,
    closedMicros: complete.closedMicros,
    openMicros: complete.openMicros,
    leastContactMicros: complete.leastContactMicros,
    stuckMicros: complete.stuckMicros,
    silentMicros: complete.silentMicros,
    largestIncrease: complete.largestIncrease,
    strokeBasis: complete.strokeBasis,
    strokesPerContactMost: mostPerContact(complete),
    guardIntervalMicros: (period - (period % budget)) / budget,
    guardIntervalRest: period % budget,
    guardToleranceMicros: (tolerance - (tolerance % budget)) / budget,
    guardToleranceRest: tolerance % budget,
  }) as Settings;
}

/** ⌈m/d⌉; 1 where the ratio itself is not sound, so that defaults can be filled in before it is judged. */
function mostPerContact({ strokes, contacts }: { strokes: unknown; contacts: unknown }): number {
  if (typeof strokes !== "number" || typeof contacts !== "number") return 1;
  const rest = strokes % contacts;
  const most = (strokes - rest) / contacts + (rest > 0 ? 1 : 0);
  return most >= 1 ? most : 1;
}

function least(a: number, b: number): number {
  return a < b ? a : b;
}
