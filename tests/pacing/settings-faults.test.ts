/**
 * Is every single setting held to its range, and anything else that can be given refused without a throw?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  DAY,
  HOUR,
  SECOND,
  type SettingsFault,
  type SettingsInput,
  validateSettings,
} from "../../lib/pacing/index.js";
import { PLAIN } from "./kit.js";

function faults(input: unknown): readonly SettingsFault[] {
  const verdict = validateSettings(input as SettingsInput);
  return verdict.ok ? [] : verdict.faults;
}

/** What is wrong, as the name of the setting alone. */
function faulty(over: { readonly [name: string]: unknown }): string[] {
  return faults({ ...PLAIN, ...over }).map(({ setting }) => setting);
}

interface Range {
  readonly name: keyof SettingsInput;
  readonly least: number;
  readonly most: number;
  readonly unit: string;
  /** What else must be set for the ends of the range to be sound together with the other settings. */
  readonly besides?: Partial<SettingsInput>;
}

const RANGES: readonly Range[] = [
  { name: "strokes", least: 1, most: 65_535, unit: "strokes", besides: { leastSpacingMicros: 1 } },
  { name: "contacts", least: 1, most: 65_535, unit: "contacts" },
  {
    name: "leastSpacingMicros",
    least: 1,
    most: HOUR,
    unit: "µs",
    besides: { graceMicros: DAY, primeSpacingMicros: HOUR },
  },
  { name: "owedLimitStrokes", least: 1, most: 1_000_000, unit: "strokes" },
  { name: "graceMicros", least: 1, most: DAY, unit: "µs", besides: { leastSpacingMicros: 1 } },
  { name: "longestPrimeMicros", least: 1, most: HOUR, unit: "µs" },
  { name: "primeSpacingMicros", least: 1, most: HOUR, unit: "µs", besides: { leastSpacingMicros: 1 } },
  {
    name: "guardBudgetStrokes",
    least: 0,
    most: 65_535,
    unit: "strokes",
    besides: { guardBurstStrokes: 1 },
  },
  { name: "guardPeriodMicros", least: 1, most: DAY, unit: "µs" },
  { name: "guardBurstStrokes", least: 1, most: 65_535, unit: "strokes" },
  { name: "closedMicros", least: 0, most: 10 * SECOND, unit: "µs" },
  { name: "openMicros", least: 0, most: 10 * SECOND, unit: "µs" },
  { name: "leastContactMicros", least: 0, most: HOUR, unit: "µs" },
  { name: "stuckMicros", least: 0, most: 7 * DAY, unit: "µs" },
  { name: "silentMicros", least: 0, most: 7 * DAY, unit: "µs" },
  { name: "largestIncrease", least: 1, most: 1_000, unit: "times" },
];

describe.each(RANGES)("$name, $least to $most $unit", ({ name, least, most, unit, besides }) => {
  const mend = `give a whole number of ${unit} from ${least} to ${most}`;
  const given = (value: unknown): { readonly [name: string]: unknown } => ({
    ...PLAIN,
    primeSpacingMicros: HOUR,
    ...besides,
    [name]: value,
  });

  test.each([{ value: least }, { value: most }])("$value is taken", ({ value }) => {
    const verdict = validateSettings(given(value) as unknown as SettingsInput);
    expect(verdict.ok && verdict.settings[name]).toBe(value);
  });

  test.each([
    { value: least - 1, shown: String(least - 1) },
    { value: most + 1, shown: String(most + 1) },
    { value: least + 0.5, shown: String(least + 0.5) },
    { value: NaN, shown: "NaN" },
    { value: Infinity, shown: "Infinity" },
    { value: -Infinity, shown: "-Infinity" },
    { value: 1e30, shown: "1e+30" },
    { value: "1", shown: "1" },
    { value: null, shown: "of type object" },
    { value: true, shown: "of type boolean" },
    { value: 1n, shown: "of type bigint" },
    { value: [1], shown: "of type object" },
    { value: Symbol("1"), shown: "of type symbol" },
    { value: Object.create(null) as unknown, shown: "of type object" },
    { value: () => 1, shown: "of type function" },
  ])("what is $shown is refused, and nothing else is", ({ value, shown }) => {
    expect(faults({ guardBurstStrokes: 1, ...given(value) })).toEqual([
      { setting: name, fault: `is ${shown}`, mend },
    ]);
  });
});

test.each([
  { name: "cadence", choices: ["spread", "prompt"] },
  { name: "contactsDuringPrime", choices: ["earn", "ignore"] },
  { name: "strokeBasis", choices: ["full", "measured"] },
])("$name is one of $choices and nothing else", ({ name, choices }) => {
  for (const choice of choices) expect(faulty({ [name]: choice })).toEqual([]);
  const mend = `give ${choices.join(" or ")}`;
  expect(faults({ ...PLAIN, [name]: "Spread" })).toEqual([{ setting: name, fault: "is Spread", mend }]);
  expect(faults({ ...PLAIN, [name]: null })).toEqual([{ setting: name, fault: "is of type object", mend }]);
});

test("all single faults are told at once, in the order of the settings, choices after, strangers last", () => {
  const broken: { [name: string]: unknown } = { surprise: 1 };
  for (const { name } of RANGES) broken[name] = -1;
  for (const name of ["cadence", "contactsDuringPrime", "strokeBasis"]) broken[name] = 1;
  expect(faults(broken).map(({ setting }) => setting)).toEqual([
    ...RANGES.map(({ name }) => name),
    "cadence",
    "contactsDuringPrime",
    "strokeBasis",
    "surprise",
  ]);
});

test("relations are left alone while a single value is wrong", () => {
  expect(faulty({ graceMicros: 1, cadence: "slow" })).toEqual(["cadence"]);
});

test("what has no default is missed by name, and the prime spacing with the cap that it follows", () => {
  const missing = (setting: string, unit: string, most: number): SettingsFault => {
    return { setting, fault: "is missing", mend: `give a whole number of ${unit} from 1 to ${most}` };
  };
  expect(faults({})).toEqual([
    missing("strokes", "strokes", 65_535),
    missing("contacts", "contacts", 65_535),
    missing("leastSpacingMicros", "µs", HOUR),
    missing("primeSpacingMicros", "µs", HOUR),
  ]);
});

test.each(["surprise", "Strokes", "constructor", "toString", "hasOwnProperty", "__proto__"])(
  "a setting named %s is told to be none",
  (name) => {
    const input = JSON.parse(
      `{"strokes":1,"contacts":1,"leastSpacingMicros":1,"${name}":{"strokes":9}}`,
    ) as unknown;
    expect(faults(input)).toEqual([
      { setting: name, fault: "is not a setting", mend: "take it out, or see SettingsInput for the names" },
    ]);
  },
);

test("settings are not taken from a prototype", () => {
  expect(faults(JSON.parse(`{"__proto__":{"strokes":9},"contacts":1,"leastSpacingMicros":1}`)).length).toBe(
    2,
  );
});

test.each([[null], [undefined], [1], ["1:1"], [Symbol("settings")], [() => PLAIN], [true], [7n]])(
  "%s is no object of settings",
  (input) => {
    expect(faults(input)).toEqual([
      { setting: "settings", fault: "is not an object", mend: "give an object of named settings" },
    ]);
  },
);

test("an array is an object of strangers", () => {
  expect(faults([5]).map(({ setting }) => setting)).toEqual([
    "strokes",
    "contacts",
    "leastSpacingMicros",
    "primeSpacingMicros",
    "0",
  ]);
});

test("settings without a prototype are settings", () => {
  expect(
    validateSettings(Object.assign<object, SettingsInput>(Object.create(null) as object, PLAIN)).ok,
  ).toBe(true);
});

test("whatever it is given it answers, and twice the same", () => {
  const names = [...RANGES.map(({ name }) => name), "cadence", "contactsDuringPrime", "strokeBasis"];
  const values = fc.oneof(
    fc.anything({ withBigInt: true, withNullPrototype: true, withSparseArray: true }),
    fc.integer({ min: -2, max: 70_000 }),
    fc.constant(Symbol("value")),
  );
  const given = fc.oneof(fc.anything(), fc.dictionary(fc.constantFrom(...names), values));
  fc.assert(
    fc.property(given, (input) => {
      const once = validateSettings(input as SettingsInput);
      expect(validateSettings(input as SettingsInput)).toEqual(once);
      if (!once.ok) expect(once.faults.length).toBeGreaterThan(0);
    }),
    { numRuns: 1_000 },
  );
});
