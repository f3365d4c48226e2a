/**
 * Settings on the command line and in a file: the same names and values, every fault at once, with its place.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { shipped } from "../../harness/files/package-root.js";
import { settingsFrom, showSettings, type Written } from "../../harness/files/settings.js";
import { readSettingsFile, SCHEMA_FILE, schemaText } from "../../harness/files/settings-file.js";
import { TERMS } from "../../harness/files/terms.js";
import { type SettingsInput, validateSettings } from "../../lib/pacing/index.js";
import { anySettings } from "../support/arbitraries.js";
import { folder, run } from "./kit.js";

const LOG = { "log.csv": "time_s\n1\n2\n3\n" };

const EVERY: { readonly [name: string]: string | number } = {
  ratio: "3:2",
  cap: 100,
  cadence: "prompt",
  "owed-limit": 33,
  grace: "80 s",
  guard: "500/h",
  "guard-burst": 44,
  "longest-prime": "50 s",
  "prime-rate": 30,
  "contacts-during-prime": "ignore",
  closed: "11 ms",
  open: "12 ms",
  "least-contact": "60 ms",
  stuck: "2 h",
  silent: "3 h",
  "largest-increase": 5,
  "stroke-basis": "measured",
};

const EVERY_INPUT: SettingsInput = {
  strokes: 3,
  contacts: 2,
  leastSpacingMicros: 600_000,
  cadence: "prompt",
  owedLimitStrokes: 33,
  graceMicros: 80_000_000,
  guardBudgetStrokes: 500,
  guardPeriodMicros: 3_600_000_000,
  guardBurstStrokes: 44,
  longestPrimeMicros: 50_000_000,
  primeSpacingMicros: 2_000_000,
  contactsDuringPrime: "ignore",
  closedMicros: 11_000,
  openMicros: 12_000,
  leastContactMicros: 60_000,
  stuckMicros: 7_200_000_000,
  silentMicros: 10_800_000_000,
  largestIncrease: 5,
  strokeBasis: "measured",
};

function written(values: { readonly [name: string]: string | number }): Map<string, Written> {
  return new Map(Object.entries(values).map(([name, value]) => [name, { text: String(value) }]));
}

/** What the core makes of an input, or a failed test. */
function checked(input: SettingsInput): unknown {
  const verdict = validateSettings(input);
  return verdict.ok ? verdict.settings : verdict.faults;
}

/** The faults of a run with these options, line by line. */
async function faultsOf(...options: string[]): Promise<string[]> {
  const { status, result, talk } = await run("simulate", join(folder(LOG), "log.csv"), ...options);
  expect([status, result]).toEqual([2, ""]);
  return talk.trimEnd().split("\n");
}

test("every setting of the core has one term, and every term is tested here", () => {
  const sets = TERMS.flatMap((term) => term.sets);
  expect([...sets].sort()).toEqual(Object.keys(EVERY_INPUT).sort());
  expect(TERMS.map(({ name }) => name)).toEqual(Object.keys(EVERY));
});

test("every setting reaches the core, by option and by file alike", () => {
  const cwd = folder({ "settings.json": JSON.stringify({ $schema: "here", ...EVERY }) });
  const expected = checked(EVERY_INPUT);
  expect(settingsFrom(written(EVERY))).toEqual(expected);
  expect(settingsFrom(readSettingsFile(join(cwd, "settings.json")))).toEqual(expected);
});

test("settings as they are shown are settings that can be read again", () => {
  // Without a guard its period means nothing, and is not shown.
  const guarded = anySettings.filter(({ guardBudgetStrokes }) => guardBudgetStrokes > 0);
  fc.assert(
    fc.property(guarded, (settings) => {
      expect(settingsFrom(written(showSettings(settings)))).toEqual(settings);
    }),
  );
});

test("--json shows the settings such that they can be kept as a settings file", async () => {
  const cwd = folder(LOG);
  const options = Object.entries(EVERY).flatMap(([name, value]) => [`--${name}`, String(value)]);
  const { result } = await run("simulate", join(cwd, "log.csv"), ...options, "--json");
  expect((JSON.parse(result) as { settings: unknown }).settings).toEqual(EVERY);
});

test("an option overrides the file", async () => {
  const cwd = folder({ ...LOG, "settings.json": '{ "ratio": "2:1", "cap": 60, "grace": "5 s" }' });
  const { result } = await run(
    ...["simulate", join(cwd, "log.csv"), "--settings", join(cwd, "settings.json"), "--cap", "90", "--json"],
  );
  const { settings } = JSON.parse(result) as { settings: typeof EVERY };
  expect([settings["ratio"], settings["cap"], settings["grace"]]).toEqual(["2:1", 90, "5 s"]);
});

test("the published schema is the one that settings files are checked by", () => {
  expect(readFileSync(shipped(SCHEMA_FILE), "utf8")).toBe(schemaText());
});

test("what is missing is told, once each, with an example", async () => {
  expect(await faultsOf()).toEqual([
    "--ratio is missing. Mend: give it, such as --ratio 2:1.",
    "--cap is missing. Mend: give it, such as --cap 120.",
  ]);
});

test("every option that cannot be read is told at once, and nothing that only follows from it", async () => {
  const faults = await faultsOf(
    ...["--ratio", "0:1", "--cap", "0", "--grace", "5", "--guard", "5/x", "--owed-limit", "0"],
    ...["--cadence", "fast", "--stuck", "-1s", "--silent", "9 d"],
  );
  expect(faults.map((fault) => fault.replace(/\. Mend: .+/, ""))).toEqual([
    '--ratio is "0:1"',
    '--cap is "0"',
    '--cadence is "fast"',
    '--grace is "5"',
    '--guard is "5/x"',
    '--stuck is "-1s"',
    "--owed-limit is 0",
    "--silent is 9 d",
  ]);
});

test("settings that could never keep the laws are refused, all at once, in the user's words and units", async () => {
  const faults = await faultsOf(
    ...["--ratio", "9:1", "--cap", "6", "--owed-limit", "3", "--grace", "10 s", "--guard", "4/h"],
    ...["--prime-rate", "60", "--stuck", "5 ms"],
  );
  expect(faults).toEqual([
    "--owed-limit is 3, below the 9 strokes that one contact can earn, so every such contact would shed. Mend: give at least 9.",
    "--grace is 10 s, too short to make the 9 strokes of one contact at the cap. Mend: give at least 90 s, or a higher cap.",
    "--prime-rate is 60, more than the cap allows. Mend: give at most 6, or a higher cap.",
    "--stuck is 5 ms, no longer than an ordinary closure (10 ms). Mend: give more than 10 ms, or 0 s for never.",
    "--guard-burst is 4: the 9 strokes of a single contact would trip the guard. Mend: give at least 9.",
  ]);
});

test("a rate below one stroke an hour is refused in strokes a minute", async () => {
  expect(await faultsOf("--ratio", "1:1", "--cap", "0.01")).toEqual([
    "--cap is 0.01 strokes a minute. Mend: give one stroke an hour (0.016667) to 60000000 a minute.",
  ]);
});

test.each<[string, string | Buffer, string[]]>([
  [
    "with a comma too many",
    '{\n  "ratio": "2:1",\n}',
    [
      'FILE line 3 column 1: is not sound JSON (property name expected). Mend: write { "ratio": "2:1", "cap": 120 }, names and texts in double quotes, no comma before the }.',
    ],
  ],
  [
    "with an unknown key, and one that stands twice",
    '{\n"ratio": "2:1",\n"caps": 1,\n"grace": "9 s",\n"grace": "8 s"}',
    [
      'FILE line 5: "grace" stands twice. Mend: keep one of them.',
      `FILE line 3: "caps" is not a setting. Mend: use ${Object.keys(EVERY).join(", ")}.`,
    ],
  ],
  [
    "with values of the wrong kind",
    '{ "ratio": "2/1",\n"cap": "120",\n"cadence": "fast",\n"grace": 90,\n"guard": {} }',
    [
      'FILE line 1: "ratio" is "2/1". Mend: give strokes:contacts, two whole numbers from 1 to 65535, such as 2:1, 1:5 or 3:2.',
      'FILE line 2: "cap" is "120". Mend: write it like 120.',
      'FILE line 3: "cadence" is "fast". Mend: give spread or prompt.',
      'FILE line 4: "grace" is 90. Mend: write it like "90 s".',
      'FILE line 5: "guard" is {}. Mend: write it like "500/h".',
    ],
  ],
  [
    "with a value that the core refuses",
    '{ "ratio": "2:1", "cap": 120,\n"grace": "1 ms" }',
    [
      'FILE line 2: "grace" is 1 ms, too short to make the 2 strokes of one contact at the cap. Mend: give at least 1 s, or a higher cap.',
    ],
  ],
  [
    "with a count that is not whole",
    '{ "ratio": "2:1", "cap": 120, "owed-limit": 2.5 }',
    ['FILE line 1: "owed-limit" is "2.5". Mend: give a whole number.'],
  ],
  ["that is a list", "[]", ['FILE: is not one JSON object. Mend: write { "ratio": "2:1", "cap": 120 }.']],
  [
    "that is empty",
    "",
    [
      'FILE line 1 column 1: is not sound JSON (value expected). Mend: write { "ratio": "2:1", "cap": 120 }, names and texts in double quotes, no comma before the }.',
    ],
  ],
  ["that is not text", Buffer.of(0x7b, 0xff), ["FILE: is not UTF-8 text. Mend: give a JSON text file."]],
  [
    "that is much too long",
    " ".repeat(70_000),
    ["FILE: is longer than 65536 bytes. Mend: name a JSON file, not a log."],
  ],
])("a settings file %s is refused with its place", async (_, content, faults) => {
  const path = join(folder({ "settings.json": content }), "settings.json");
  expect((await faultsOf("--settings", path)).map((fault) => fault.replace(path, "FILE"))).toEqual(faults);
});

test("a settings file that is not there is told", async () => {
  const path = join(folder(), "gone.json");
  expect(await faultsOf("--settings", path)).toEqual([
    `${path}: cannot be read: there is no such file or folder. Mend: check the name and its folder.`,
  ]);
});
