/**
 * Which settings can keep the laws? Validates once, names every fault with its mend, all at once.
 *
 * Pacing layer. Divisions that the core needs again and again (the guard's) are done here, exactly.
 */
import { admitStroke, type GuardBucket } from "./guard.js";
import { DAY, GUARD_STROKES_MAX, HOUR, MINUTE, OWED_LIMIT_MAX, RATIO_TERM_MAX, SECOND } from "./limits.js";
import type { Settings, SettingsFault, SettingsInput, SettingsVerdict } from "./settings.js";

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
 * Takes anything at all and does not throw, short of a property that throws when it is read. Every fault is reported, each with its mend; relations between settings
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
    stuckMicros: DAY,
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
