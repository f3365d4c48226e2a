/**
 * Is every plan that cannot be meant refused, with exit status 2, the option's name and the mend?
 */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { QUANTITIES } from "../../harness/plan/terms.js";
import { folder } from "./kit.js";
import { argsOf, runPlan, SOUND, type Terms } from "./plan-kit.js";

/** All terms that are one quantity, with texts that go together. */
const ALL: Terms = {
  ...SOUND,
  typical: "6 gal/min",
  low: "1 gal/min",
  tank: "30 gal",
  temperature: "5 °C",
  "contact-tank": "120 gal",
  "mixing-volume": "5 gal",
  age: "14 days",
  "storage-temperature": "77 °F",
  grace: "90 s",
};
const NAMES = Object.keys(ALL).filter(
  (name) => QUANTITIES.some((term) => term.name === name) || name === "strength",
);

const number = (put: (digits: string) => string) => (text: string) => text.replace(/^[\d.]+/, put);
const BAD: readonly (readonly [what: string, of: (text: string) => string])[] = [
  ["empty", () => ""],
  ["without a unit", (text) => text.replace(/\s.*/, "")],
  ["with the wrong unit", () => "3 kPa"],
  ["with an unknown unit", (text) => text.replace(/\s.*/, " smoots")],
  ["a word", () => "some"],
  ["NaN", number(() => "NaN")],
  ["with a comma", number(() => "1,5")],
  ["a million times too large", number((digits) => `${digits}e6`)],
  ["1e30", number(() => "1e30")],
];
const BAD_BUT_FOR_TEMPERATURE: typeof BAD = [
  ["zero", number(() => "0")],
  ["negative", (text) => `-${text}`],
  ["a million times too small", number((digits) => `${digits}e-6`)],
];

const CASES = NAMES.flatMap((name) =>
  [...BAD, ...(name.includes("temperature") ? [] : BAD_BUT_FOR_TEMPERATURE)].map(([what, of]) => ({
    name,
    what,
    text: of(ALL[name] ?? ""),
  })),
);

test.each(CASES)(
  "--$name $what ($text) ends in 2 and names the option and the mend",
  async ({ name, text }) => {
    const { status, result, talk } = await runPlan(argsOf({ ...ALL, [name]: text }));
    expect({ status, result }).toEqual({ status: 2, result: "" });
    expect(talk).toMatch(new RegExp(`^--${name} .+\\. Mend: .+\\.$`, "m"));
  },
);

test.each([
  ["cap", "0"],
  ["cap", "-5"],
  ["cap", "120000000"],
  ["cap", "0.00012"],
  ["cap", "fast"],
  ["cap", "120 gal"],
  ["cap", ""],
  ["ph", "0"],
  ["ph", "74"],
  ["ph", "acid"],
  ["specific-gravity", "0.5"],
  ["specific-gravity", "1080"],
  ["baffling", "good"],
  ["baffling", "0"],
  ["stroke-setting", "0 %"],
  ["stroke-setting", "140 %"],
  ["cadence", "slow"],
  ["tolerance", "99 %"],
  ["largest", "0"],
  ["largest", "2.5"],
  ["largest", "70000"],
  ["stock", "5 gal"],
  ["stock", "0 %"],
  ["strength", "1.2 mg/L"],
  ["strength", "5 % w/w"],
  ["low", "16 gal/min"],
  ["typical", "16 gal/min"],
  ["demand", "1.2 mg/L"],
  ["residual", "1.3 mg/L"],
  ["pump-rate", "3 gal/day"],
])("--%s %o ends in 2 and names the option and the mend", async (name, text) => {
  const { status, talk } = await runPlan(argsOf({ ...SOUND, [name]: text }));
  expect(status).toBe(2);
  expect(talk).toMatch(new RegExp(`^--${name} .+\\. Mend: .+\\.$`, "m"));
});

test.each(Object.keys(SOUND))("without --%s it ends in 2 and says what to give", async (name) => {
  const { status, talk } = await runPlan(argsOf({ ...SOUND, [name]: undefined }));
  expect(status).toBe(2);
  expect(talk).toMatch(new RegExp(`^--${name} is missing\\. Mend: give .+\\.\\n$`));
});

test("nothing at all is told all at once: each of the six that must be given, and no more", async () => {
  const { status, talk } = await runPlan([]);
  const named = talk
    .trim()
    .split("\n")
    .map((line) => line.split(" ")[0]);
  expect(status).toBe(2);
  expect(named).toEqual(
    ["contact-volume", "dose", "strength", "cap", "stroke-volume", "peak"].map((name) => `--${name}`),
  );
});

test("dose, demand and residual together, demand alone and residual alone are refused", async () => {
  const needs: Terms[] = [
    { demand: "0.7 mg/L", residual: "0.5 mg/L" },
    { dose: undefined, demand: "0.7 mg/L" },
    { dose: undefined, residual: "0.5 mg/L" },
  ];
  const ran = await Promise.all(needs.map((terms) => runPlan(argsOf({ ...SOUND, ...terms }))));
  expect(ran.map(({ status, talk }) => [status, talk.split(". Mend")[0]])).toEqual([
    [2, "--dose stands beside both --demand and --residual"],
    [2, "--residual is missing"],
    [2, "--demand is missing"],
  ]);
});

test("an unknown option, a stray word and --measured with a rated output are refused", async () => {
  const rated = argsOf({ ...SOUND, "stroke-volume": undefined, "pump-rate": "3 gal/day" });
  const stray = [
    [...argsOf(SOUND), "--wish=1"],
    [...argsOf(SOUND), "please"],
    [...rated, "--measured"],
  ];
  const statuses = await Promise.all(stray.map(async (args) => (await runPlan(args)).status));
  expect(statuses).toEqual([2, 2, 2]);
});

const FILES: readonly (readonly [what: string, text: string, talk: RegExp])[] = [
  ["empty", "", /is not sound JSON/],
  ["broken", '{\n  "cap": 120,\n}', /line 3 column 1: is not sound JSON/],
  ["a list", "[]", /is not one JSON object/],
  [
    "of an unknown key",
    '{\n  "speed": 3\n}',
    /line 2: "speed" is not part of a plan\. Mend: use contact-volume/,
  ],
  ["of a key that stands twice", '{ "cap": 1,\n "cap": 2 }', /line 2: "cap" stands twice/],
  [
    "of a number without a unit",
    '{ "dose": 1.2 }',
    /line 1: "dose" is not .+ Mend: write it as a text like "1.2 mg\/L"/,
  ],
  ["of an object for a text", '{ "dose": { "mg": 1 } }', /"dose" is not of the right kind/],
  ["of a wrong unit", '{\n "dose": "1.2 gal" }', /line 2: "dose" "gal" is not a unit of dose/],
  ["of a text for measured", '{ "measured": "yes" }', /"measured" is not .+ Mend: write true or false/],
  ["binary", "\u0000\ufffd\u0001", /is not sound JSON/],
];
test.each(FILES)(
  "a plan file that is %s ends in 2 and names the file and the line",
  async (what, text, talk) => {
    const file = join(folder(), `${what.replace(/\W/g, "-")}.json`);
    writeFileSync(file, text);
    const rest = argsOf({ ...SOUND, dose: undefined, cap: undefined });
    const ran = await runPlan([...rest, `--from=${file}`]);
    expect(ran.status).toBe(2);
    expect(ran.talk).toMatch(talk);
    expect(ran.talk).toContain(file);
  },
);

test("a plan file that is not there, a folder, or too long ends in 2", async () => {
  const long = join(folder(), "long.json");
  writeFileSync(long, " ".repeat(70_000));
  const files = [join(folder(), "none.json"), folder(), long];
  const ran = await Promise.all(files.map((file) => runPlan([`--from=${file}`])));
  expect(ran.map(({ status }) => status)).toEqual([2, 2, 2]);
});

test.each(["sheet.txt", "sheet", "sheet.pdf"])(
  "a sheet called %s has no known format: nothing is printed",
  async (name) => {
    const { status, result, talk } = await runPlan([...argsOf(SOUND), `--sheet=${join(folder(), name)}`]);
    expect({ status, result }).toEqual({ status: 2, result: "" });
    expect(talk).toMatch(
      /--sheet .+ has no known ending\. Mend: name a file that ends in \.md, \.markdown, \.html, \.htm\./,
    );
  },
);

test("a file that cannot be written ends in 2", async () => {
  const { status, talk } = await runPlan([
    ...argsOf(SOUND),
    `--settings-out=${join(folder(), "none", "s.json")}`,
  ]);
  expect(status).toBe(2);
  expect(talk).toContain("cannot be written: there is no such file or folder");
});

test("whatever is written for whichever term, the plan is made or refused, and never throws", async () => {
  const names = fc.constantFrom(
    ...[...Object.keys(ALL), "cap", "ph", "baffling", "largest", "tolerance", "stock", "specific-gravity"],
  );
  const units = fc.constantFrom("gal", "mg/L", "mL", "gal/min", "%", "°C", "days", "");
  const numbers = fc.tuple(fc.double(), units).map(([amount, unit]) => `${amount} ${unit}`);
  const changes = fc.array(fc.tuple(names, fc.oneof(fc.string(), numbers)), { maxLength: 3 });
  await fc.assert(
    fc.asyncProperty(changes, async (changed) => {
      const { status } = await runPlan(argsOf({ ...ALL, ...Object.fromEntries(changed) }));
      expect([0, 1, 2]).toContain(status);
    }),
    { numRuns: 300 },
  );
});
