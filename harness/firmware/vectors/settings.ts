/**
 * Which settings are sound, and what is derived from them? A table for ports of `validate`. Harness layer.
 *
 * One row a set of settings: `sound`, the name of the first setting at fault; then what the core derives; then the settings.
 */
import { type SettingsInput, validateSettings } from "../../../lib/pacing/index.js";
import { SETTING_NAMES } from "../../../lib/trace/detail.js";

const BASE: Required<SettingsInput> = {
  strokes: 7,
  contacts: 3,
  cadence: "spread",
  leastSpacingMicros: 500_000,
  owedLimitStrokes: 30,
  graceMicros: 90_000_000,
  longestPrimeMicros: 60_000_000,
  primeSpacingMicros: 500_000,
  contactsDuringPrime: "earn",
  guardBudgetStrokes: 0,
  guardPeriodMicros: 60_000_000,
  guardBurstStrokes: 1,
  closedMicros: 10_000,
  openMicros: 10_000,
  leastContactMicros: 0,
  stuckMicros: 0,
  silentMicros: 0,
  largestIncrease: 2,
  strokeBasis: "full",
};

const guard = (budget: number, period: number, burst: number): Partial<SettingsInput> => ({
  guardBudgetStrokes: budget,
  guardPeriodMicros: period,
  guardBurstStrokes: burst,
});

// Each differs from the base in what it is about: the least and the most that is allowed, and one past it.
const CASES: readonly Partial<SettingsInput>[] = [
  {},
  { strokes: 0 },
  { strokes: 65_535, contacts: 65_535 },
  { contacts: 0 },
  { strokes: 1, contacts: 65_535 },
  { leastSpacingMicros: 0 },
  { leastSpacingMicros: 1 },
  { owedLimitStrokes: 0 },
  { owedLimitStrokes: 2 },
  { owedLimitStrokes: 3 },
  { graceMicros: 0 },
  { graceMicros: 1_499_999 },
  { graceMicros: 1_500_000 },
  { longestPrimeMicros: 0 },
  { longestPrimeMicros: 1 },
  { primeSpacingMicros: 0 },
  { primeSpacingMicros: 499_999 },
  { primeSpacingMicros: 500_001 },
  { guardPeriodMicros: 0 },
  { guardBurstStrokes: 0 },
  { closedMicros: 0, openMicros: 0 },
  { closedMicros: 10_000_000, openMicros: 10_000_000 },
  { closedMicros: 10_000_001 },
  { openMicros: 10_000_001 },
  { stuckMicros: 10_000 },
  { stuckMicros: 10_001 },
  { largestIncrease: 0 },
  { largestIncrease: 1_000 },
  { largestIncrease: 1_001 },
  guard(3, 10_000_000, 4),
  guard(7, 60_000_001, 7),
  guard(65_535, 900_000_000, 65_535),
  guard(1, 60_000_000, 2),
  guard(1, 60_000_000, 3),
  guard(5, 60_000_000, 2),
  // One stroke a second in bursts: three strokes within a second ask a tolerance of exactly one.
  guard(60, 60_000_000, 2),
  guard(59, 60_000_000, 2),
  { ...guard(4, 3_000_001, 2), leastSpacingMicros: 375_000 },
  { ...guard(4, 3_000_001, 2), leastSpacingMicros: 375_001 },
  { strokes: 0, contacts: 0, silentMicros: 1 },
];

/** The text of the table. */
export function settingsTable(): string {
  const rows = CASES.map((changes) => {
    const input = { ...BASE, ...changes };
    const given = SETTING_NAMES.map((name) => `${name}=${input[name]}`).join(" ");
    return `${answer(input)},${given}`;
  });
  return [
    "# Settings, and what becomes of them: `sound` with the values derived from them, or the first setting at fault.",
    "# Single values are looked at first, in the order of validate.ts, then how they stand to each other.",
    "answer,derived,settings",
    ...rows,
    "",
  ].join("\n");
}

function answer(input: SettingsInput): string {
  const verdict = validateSettings(input);
  if (!verdict.ok) return `${verdict.faults[0]?.setting ?? ""},`;
  const { settings } = verdict;
  const derived = [
    "strokesPerContactMost",
    "guardIntervalMicros",
    "guardIntervalRest",
    "guardToleranceMicros",
    "guardToleranceRest",
  ] as const;
  return `sound,${derived.map((name) => `${name}=${settings[name]}`).join(" ")}`;
}
