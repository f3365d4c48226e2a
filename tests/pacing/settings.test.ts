/**
 * Are sound settings completed, and settings that stand against each other refused with a mend?
 */
import { describe, expect, test } from "vitest";
import {
  FULL_STROKE_STATEMENT,
  HOUR,
  MINUTE,
  SECOND,
  type SettingsFault,
  type SettingsInput,
  validateSettings,
} from "../../lib/pacing/index.js";
import { PLAIN, valid } from "./kit.js";

function faults(input: unknown): readonly SettingsFault[] {
  const verdict = validateSettings(input as SettingsInput);
  return verdict.ok ? [] : verdict.faults;
}

/** What is wrong, as the name of the setting alone. */
function faulty(over: { readonly [name: string]: unknown }): string[] {
  return faults({ ...PLAIN, ...over }).map(({ setting }) => setting);
}

test("the least settings are completed with every default, and frozen", () => {
  const settings = valid({ strokes: 5, contacts: 2, leastSpacingMicros: 250_000 });
  expect(settings).toEqual({
    strokes: 5,
    contacts: 2,
    leastSpacingMicros: 250_000,
    cadence: "spread",
    owedLimitStrokes: 30,
    graceMicros: 90_000_000,
    longestPrimeMicros: 60_000_000,
    primeSpacingMicros: 250_000,
    contactsDuringPrime: "earn",
    guardBudgetStrokes: 0,
    guardPeriodMicros: 3_600_000_000,
    guardBurstStrokes: 1,
    closedMicros: 10_000,
    openMicros: 10_000,
    leastContactMicros: 0,
    stuckMicros: 3_600_000_000,
    silentMicros: 86_400_000_000,
    largestIncrease: 2,
    strokeBasis: "full",
    strokesPerContactMost: 3,
    guardIntervalMicros: 3_600_000_000,
    guardIntervalRest: 0,
    guardToleranceMicros: 0,
    guardToleranceRest: 0,
  });
  expect(Object.isFrozen(settings)).toBe(true);
});

test("what is given stands instead of the default", () => {
  const given: Required<SettingsInput> = {
    strokes: 7,
    contacts: 3,
    leastSpacingMicros: 100,
    cadence: "prompt",
    owedLimitStrokes: 9,
    graceMicros: 5_000,
    longestPrimeMicros: 1_000,
    primeSpacingMicros: 200,
    contactsDuringPrime: "ignore",
    guardBudgetStrokes: 7,
    guardPeriodMicros: 1_000,
    guardBurstStrokes: 4,
    closedMicros: 0,
    openMicros: 1,
    leastContactMicros: 2,
    stuckMicros: 3,
    silentMicros: 4,
    largestIncrease: 5,
    strokeBasis: "measured",
  };
  expect(valid(given)).toEqual({
    ...given,
    strokesPerContactMost: 3,
    // 1,000 / 7 = 142 and 6/7; three times that is 428 and 4/7.
    guardIntervalMicros: 142,
    guardIntervalRest: 6,
    guardToleranceMicros: 428,
    guardToleranceRest: 4,
  });
});

test("a setting that is given as undefined takes its default", () => {
  const input = { ...PLAIN, cadence: undefined, graceMicros: undefined, guardBudgetStrokes: undefined };
  expect(validateSettings(input as unknown as SettingsInput)).toEqual(validateSettings(PLAIN));
});

test.each([
  { strokes: 1, contacts: 1, most: 1, owedLimit: 10 },
  { strokes: 1, contacts: 7, most: 1, owedLimit: 10 },
  { strokes: 7, contacts: 7, most: 1, owedLimit: 10 },
  { strokes: 8, contacts: 7, most: 2, owedLimit: 20 },
  { strokes: 14, contacts: 7, most: 2, owedLimit: 20 },
  { strokes: 15, contacts: 7, most: 3, owedLimit: 30 },
  { strokes: 65_535, contacts: 1, most: 65_535, owedLimit: 655_350 },
])("$strokes:$contacts earns at most $most a contact; the default limit is $owedLimit", (row) => {
  const settings = valid({ strokes: row.strokes, contacts: row.contacts, leastSpacingMicros: 1 });
  expect([settings.strokesPerContactMost, settings.owedLimitStrokes]).toEqual([row.most, row.owedLimit]);
});

test("without a burst of its own, the guard's burst is its budget", () => {
  const settings = valid({ guardBudgetStrokes: 500, guardPeriodMicros: HOUR });
  expect(settings.guardBurstStrokes).toBe(500);
  expect(settings.guardToleranceMicros).toBe(499 * 7_200_000);
});

describe("relations between settings", () => {
  test.each<{
    title: string;
    sound: Partial<SettingsInput>;
    broken: Partial<SettingsInput>;
    fault: SettingsFault;
  }>([
    {
      title: "the owed limit holds the strokes of one contact",
      sound: { strokes: 5, contacts: 2, owedLimitStrokes: 3 },
      broken: { strokes: 5, contacts: 2, owedLimitStrokes: 2 },
      fault: {
        setting: "owedLimitStrokes",
        fault: "is 2, below the 3 strokes that one contact can earn, so every such contact would shed",
        mend: "give at least 3",
      },
    },
    {
      title: "the grace is long enough for the strokes of one contact at the cap",
      sound: { strokes: 5, contacts: 2, leastSpacingMicros: 100, graceMicros: 300 },
      broken: { strokes: 5, contacts: 2, leastSpacingMicros: 100, graceMicros: 299 },
      fault: {
        setting: "graceMicros",
        fault: "is 299, too short to make the 3 strokes of one contact at the cap",
        mend: "give at least 300, or a shorter leastSpacingMicros",
      },
    },
    {
      title: "priming keeps to the cap",
      sound: { primeSpacingMicros: 10_000 },
      broken: { primeSpacingMicros: 9_999 },
      fault: {
        setting: "primeSpacingMicros",
        fault: "is 9999, closer than the cap allows",
        mend: "give at least 10000",
      },
    },
    {
      title: "a closure that just counts is not stuck",
      sound: { closedMicros: 500, stuckMicros: 501 },
      broken: { closedMicros: 500, stuckMicros: 500 },
      fault: {
        setting: "stuckMicros",
        fault: "is 500, no longer than an ordinary closure (500)",
        mend: "give more than 500, or 0 for never",
      },
    },
    {
      title: "one contact does not trip the guard",
      sound: { strokes: 3, guardBudgetStrokes: 10, guardBurstStrokes: 3 },
      broken: { strokes: 3, guardBudgetStrokes: 10, guardBurstStrokes: 2 },
      fault: {
        setting: "guardBurstStrokes",
        fault: "is 2: the 3 strokes of a single contact would trip the guard",
        mend: "give at least 3",
      },
    },
  ])("$title", ({ sound, broken, fault }) => {
    expect(faults({ ...PLAIN, ...sound })).toEqual([]);
    expect(faults({ ...PLAIN, ...broken })).toEqual([fault]);
  });

  test("a contact may stay closed for ever where stuck is never alarmed", () => {
    expect(faulty({ stuckMicros: 0, closedMicros: 10 * SECOND })).toEqual([]);
  });

  test("a burst below the strokes of one contact is sound where the cap spaces them within the budget", () => {
    // 100 strokes per 100,000 µs is one per 1,000 µs.
    const guard = { strokes: 5, guardBudgetStrokes: 100, guardPeriodMicros: 100_000, guardBurstStrokes: 1 };
    expect(faulty({ ...guard, leastSpacingMicros: 1_000 })).toEqual([]);
    expect(faulty({ ...guard, leastSpacingMicros: 999 })).toEqual(["guardBurstStrokes"]);
  });

  test("a guard that is off can trip on nothing", () => {
    expect(
      faulty({ strokes: 100, leastSpacingMicros: 1, guardBudgetStrokes: 0, guardBurstStrokes: 1 }),
    ).toEqual([]);
  });

  test("all broken relations are told at once, in one order", () => {
    const names = faulty({
      strokes: 100,
      owedLimitStrokes: 99,
      graceMicros: 999_999,
      primeSpacingMicros: 1,
      stuckMicros: 1,
      guardBudgetStrokes: 1,
    });
    expect(names).toEqual([
      "owedLimitStrokes",
      "graceMicros",
      "primeSpacingMicros",
      "stuckMicros",
      "guardBurstStrokes",
    ]);
  });
});

test("settings that were validated are sound when validated again", () => {
  const { strokesPerContactMost, ...rest } = valid({
    strokes: 3,
    guardBudgetStrokes: 7,
    guardPeriodMicros: MINUTE,
  });
  expect(strokesPerContactMost).toBe(3);
  const again = Object.fromEntries(
    Object.entries(rest).filter(([name]) => !/^guard(Interval|Tolerance)/.test(name)),
  );
  expect(validateSettings(again as unknown as SettingsInput)).toEqual({
    ok: true,
    settings: { ...rest, strokesPerContactMost },
  });
});

test("the full-stroke statement says how the volume of a stroke is made sure of", () => {
  expect(FULL_STROKE_STATEMENT).toBe(
    "A ratio is right only if every stroke delivers the volume it was worked out with: set the pump's manual stroke " +
      "adjustment to full and use its rated volume, or measure millilitres per stroke by a drawdown at the adjustment in use.",
  );
});
