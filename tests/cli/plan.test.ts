/**
 * Does `plan` keep its contracts: the ratio, the object for machines, the working, the settings, the exit status?
 */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { shipped } from "../../harness/files/package-root.js";
import { PLAN_SCHEMA_FILE, planSchemaText } from "../../harness/plan/plan-file.js";
import { folder, run } from "./kit.js";
import { argsOf, runPlan, SOUND, type Terms } from "./plan-kit.js";

interface PlanJson {
  readonly strokes_per_contact: number;
  readonly strokes_per_contact_exact: string;
  readonly residual_mg_per_l: number | null;
  readonly candidates: readonly { readonly [name: string]: number | boolean }[];
  readonly warnings: readonly { readonly [name: string]: string }[];
}
async function planJson(args: readonly string[]): Promise<PlanJson & { readonly status: number | null }> {
  const { status, result, talk } = await runPlan([...args, "--json"]);
  if (result === "") throw new Error(talk);
  return { ...(JSON.parse(result) as PlanJson), status };
}

const FULL: Terms = {
  ...SOUND,
  dose: undefined,
  demand: "0.7 mg/L",
  residual: "0.5 mg/L",
  typical: "6 gal/min",
  low: "1 gal/min",
  tank: "30 gal",
  ph: "7.4",
  temperature: "41 °F",
  "contact-tank": "120 gal",
  baffling: "poor",
  stock: "12.5 %",
};

test("the object has strokes per contact, exact, and candidates with their six fields, best first", async () => {
  const plan = await planJson(argsOf(SOUND));
  const close = (value: number): number => expect.closeTo(value, 9) as number;
  expect(plan.status).toBe(0);
  expect(plan.strokes_per_contact).toBe(3_785_411_784 / 1_487_500_000);
  expect(plan.strokes_per_contact_exact).toBe("67596639/26562500");
  expect(plan.candidates[0]).toEqual({
    strokes: 28,
    contacts: 11,
    dose_mg_per_l: close((28 / 11) * ((0.34 * 52.5) / 37.85411784)),
    error_percent: close(((28 / 11) * 148_750_000_000) / 3_785_411_784 - 100),
    strokes_per_min_at_peak: close((1.5 * 28) / 11),
    keeps_up: true,
    has_margin: true,
  });
  expect(plan.warnings).toEqual([]);
  const errors = plan.candidates.map((candidate) => Math.abs(Number(candidate["error_percent"])));
  expect(errors).toEqual([...errors].sort((a, b) => a - b));
});

test("a contact that is worth two and a half strokes says so as a plain decimal", async () => {
  const plan = await planJson(
    argsOf({
      ...SOUND,
      "contact-volume": "10 L",
      dose: "2.55 mg/L",
      strength: "51 g/L",
      "stroke-volume": "0.2 mL",
    }),
  );
  expect([plan.strokes_per_contact, plan.strokes_per_contact_exact]).toEqual([2.5, "5/2"]);
  expect(plan.candidates[0]).toMatchObject({ strokes: 5, contacts: 2, error_percent: 0 });
});

test("metric and US customary give the same plan, but for the working", async () => {
  const metric = {
    "contact-volume": "37.85411784 L",
    dose: "0.0012 g/L",
    strength: "5.25 % w/v",
    "stroke-volume": "340 µL",
    cap: "120 strokes/min",
    peak: "0.9463529460 L/s",
  };
  expect(await planJson(argsOf(metric))).toEqual(await planJson(argsOf(SOUND)));
});

test("demand and residual make the dose; the pump's output at the cap makes the stroke", async () => {
  const plans = await Promise.all(
    [
      SOUND,
      { ...SOUND, dose: undefined, demand: "0.7 mg/L", residual: "0.5 mg/L" },
      { ...SOUND, "stroke-volume": undefined, "pump-rate": "58.752 L/day" },
    ].map((terms) => planJson(argsOf(terms))),
  );
  expect(new Set(plans.map((plan) => plan.strokes_per_contact_exact)).size).toBe(1);
});

test("a plan file says the same as options, and an option overrides it", async () => {
  const file = join(folder(), "plan.json");
  writeFileSync(file, JSON.stringify({ ...SOUND, cap: 120, dose: "9 mg/L", typical: "6 gal/min" }));
  const filed = await planJson([`--from=${file}`, "--dose=1.2 mg/L"]);
  expect(filed).toEqual(await planJson(argsOf({ ...SOUND, typical: "6 gal/min" })));
});

test("an option takes the place of what it contradicts in the file: dose for residual, residual for dose, pump for stroke", async () => {
  const summed = join(folder(), "summed.json");
  const dosed = join(folder(), "dosed.json");
  writeFileSync(
    summed,
    JSON.stringify({ ...SOUND, dose: undefined, demand: "0.7 mg/L", residual: "0.5 mg/L" }),
  );
  writeFileSync(dosed, JSON.stringify({ ...SOUND, demand: "0.7 mg/L" }));
  const residuals = await Promise.all(
    [
      [`--from=${summed}`, "--dose=2.7 mg/L"],
      [`--from=${dosed}`, "--residual=0.9 mg/L"],
      [`--from=${dosed}`, "--pump-rate=58.752 L/day"],
    ].map(async (args) => (await planJson(args)).residual_mg_per_l),
  );
  expect(residuals).toEqual([2, 0.9, 0.5]);
});

test("the published schema is the one in force", () => {
  expect(readFileSync(shipped(PLAN_SCHEMA_FILE), "utf8")).toBe(planSchemaText());
});

const JUDGED: Terms = { demand: "0.7 mg/L", ph: "7.4", temperature: "5 °C", "contact-tank": "120 gal" };
const WARNED: readonly (readonly [id: string, level: "warning" | "refusal", terms: Terms])[] = [
  ["residual-over-maximum", "refusal", { dose: "4.8 mg/L", demand: "0.7 mg/L" }],
  ["residual-may-exceed-maximum", "warning", { dose: "4.8 mg/L" }],
  ["residual-under-minimum", "warning", { demand: "1.1 mg/L" }],
  ["dose-over-maximum-use", "warning", { dose: "11 mg/L", demand: "9 mg/L" }],
  ["strength-not-plausible", "warning", { strength: "20 %" }],
  ["peak-not-followed", "refusal", { peak: "600 gal/min" }],
  ["little-to-spare", "warning", { peak: "450 gal/min" }],
  ["no-ratio", "refusal", { tolerance: "0 %" }],
  ["no-ratio", "refusal", { "contact-volume": "1000 gal", largest: "100" }],
  ["large-numbers", "warning", { "contact-volume": "600 gal", grace: "5 min" }],
  ["large-numbers", "warning", { "contact-volume": "0.03 gal" }],
  ["settings-refused", "refusal", { "contact-volume": "300 gal", cap: "40", peak: "5 gal/min" }],
  ["stroke-not-full", "warning", { "stroke-setting": "60 %" }],
  ["uneven-at-low-flow", "warning", { low: "0.5 gal/min", "mixing-volume": "5 gal" }],
  ["grace-limits-spread", "warning", { low: "0.5 gal/min" }],
  ["grace-limits-spread", "warning", { low: "0.5 gal/min", "mixing-volume": "20 gal" }],
  ["settings-refused", "refusal", { cap: "0.5", peak: "1 gal/min" }],
  ["contact-time-not-met", "warning", { ...JUDGED, baffling: "poor" }],
  ["contact-time-not-judged", "warning", { ...JUDGED, demand: undefined }],
  ["contact-time-not-judged", "warning", { ...JUDGED, ph: "11" }],
  ["tank-ages-first", "warning", { strength: "12.5 %", tank: "300 gal" }],
  ["stored-too-long", "warning", { strength: "1 %", tank: "3000 gal", "storage-temperature": "5 °C" }],
  ["stock-too-weak", "warning", { tank: "30 gal", stock: "3 %" }],
];
test.each(WARNED)("%s is a %s, with its source: %o", async (id, level, terms) => {
  const plan = await planJson(argsOf({ ...SOUND, ...terms }));
  const found = plan.warnings.find((warning) => warning["id"] === id);
  expect(found).toMatchObject({ id, level });
  expect(found?.["source"]?.length).toBeGreaterThan(10);
  expect(plan.status).toBe(plan.warnings.some((warning) => warning["level"] === "refusal") ? 1 : 0);
  const { result } = await runPlan(argsOf({ ...SOUND, ...terms }));
  expect(result.replace(/\s+/g, " ")).toContain(found?.["says"]);
});

test("what the grace takes from spread is told with its figures, and goes with a longer grace, a small contact or mixing", async () => {
  const low = { ...SOUND, low: "1 gal/min" };
  const said = (await planJson(argsOf(low))).warnings.map(({ id, says }) => [id, says]);
  expect(said).toEqual([
    [
      "grace-limits-spread",
      "at 3.785 L/min (1 gal/min) contacts come 10 min apart, and spread lays their strokes out over the still-water " +
        "grace of 90 s only: 9.125 min and 34.54 L (9.125 gal) pass between two strokes, where it could be 5 min and " +
        "18.93 L (5 gal). Give a contact volume of at most 5.678 L (1.5 gal), or mix at least 172.7 L (45.63 gal), or give " +
        "a grace of at least 10 min: but water that has stopped may then be dosed for that long",
    ],
  ]);
  const mended: Terms[] = [
    { ...low, grace: "10 min" },
    { ...SOUND, low: "10 mL/min", grace: "1 day" },
    { ...low, "contact-volume": "1.5 gal" },
    { ...low, "mixing-volume": "46 gal" },
    { ...low, cadence: "prompt" },
  ];
  const plans = await Promise.all(mended.map((terms) => planJson(argsOf(terms))));
  expect(plans.map(({ warnings }) => warnings)).toEqual([[], [], [], [], []]);
});

test("contact time that is met is said so, and not warned of", async () => {
  const terms = { ...SOUND, ...JUDGED, "contact-tank": "900 gal", baffling: "pipe" };
  const { status, result } = await runPlan(argsOf(terms));
  expect(status).toBe(0);
  expect(result.replace(/\s+/g, " ")).toContain("4-log viruses at 5 °C, pH 6-9: met (4-log or more)");
  expect(result).not.toContain("Mind before use");
});

test("a stroke that was measured below full is trusted, and goes into the settings as measured", async () => {
  const file = join(folder(), "measured.json");
  const ran = await runPlan([
    ...argsOf({ ...SOUND, "stroke-setting": "60 %", "settings-out": file }),
    "--measured",
  ]);
  expect(ran.status).toBe(0);
  expect(ran.result).not.toContain("warning");
  expect(JSON.parse(readFileSync(file, "utf8"))).toEqual({
    ratio: "28:11",
    cap: 120,
    cadence: "spread",
    grace: "90 s",
    "stroke-basis": "measured",
  });
});

test.each([
  "dose = demand + residual = 0.7 mg/L + 0.5 mg/L = 1.2 mg/L",
  "= 10 · 5.25 = 52.5 g/L (0.4381 lb/gal) as Cl2",
  "contact volume · dose / strength = 37.85 L (10 gal) · 1.2 mg/L / 52.5 g/L (0.4381 lb/gal) = 0.8652 mL",
  "solution per contact / stroke volume = 0.8652 mL (0.02926 fl oz) / 0.34 mL (0.0115 fl oz) = 2.544815 strokes",
  "2.544815 strokes, exactly 67596639/26562500",
  "= terms up to 100:100, dose within 2 % = 28:11, strokes to contacts",
  "= 3.818 of the 120 that the cap allows",
  "volume / peak flow · baffling factor = 454.2 L (120 gal) / 56.78 L/min (15 gal/min) · 0.3 = 2.4 min",
  "= 8 mg·min/L: not met, 0.6-log",
  "= 113.6 L (30 gal) · 52.5 g/L (0.4381 lb/gal) / 125 g/L (1.043 lb/gal) = 47.7 L (12.6 gal) of stock",
  "Source: Military Water Supply, Subcourse MD0160",
])("--explain shows %s", async (step) => {
  const { result } = await runPlan([...argsOf(FULL), "--explain"]);
  expect(result.replace(/\s+/g, " ")).toContain(step);
});

test("--explain of a strength by weight as NaOCl shows specific gravity and molar masses; of an aged one, the law", async () => {
  const terms = { ...SOUND, strength: "5 % w/w NaOCl", "specific-gravity": "1.08", age: "30 days" };
  const { result } = await runPlan([...argsOf(terms), "--explain"]);
  const flat = result.replace(/\s+/g, " ");
  expect(flat).toContain("= 10 · 5 · 1.08 · 70.906 / 74.442 = 51.43 g/L (0.4292 lb/gal) as Cl2");
  expect(flat).toMatch(
    /1\/C = 1\/C0 \+ k·t = C0 51\.43 g\/L .+, t 30 days, at 25 °C \(77 °F\) = 4\d\.\d+ g\/L/,
  );
});

test("nothing that a person reads is wider than 80 columns", async () => {
  const { result } = await runPlan([...argsOf({ ...FULL, peak: "600 gal/min" }), "--explain"]);
  expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
});

test("cautions are shown with every plan, and say who decides", async () => {
  const { result } = await runPlan(argsOf(SOUND));
  const flat = result.replace(/\s+/g, " ");
  expect(flat).toContain("Never mix it with acid, ammonia or any other chemical");
  expect(flat).toContain("a licensed operator or engineer decide");
});

test("the settings that plan writes run through simulate as they are, and feed the dose with the stated error", async () => {
  const settings = join(folder(), "settings.json");
  const log = join(folder(), "log.csv");
  const plan = await planJson(argsOf({ ...SOUND, "settings-out": settings }));
  const contacts = 1_100;
  const times = Array.from({ length: contacts }, (_, k) => (k + 1) * 40);
  writeFileSync(log, `time_s\n${times.join("\n")}\n`);
  const { status, result } = await run("simulate", log, "--settings", settings, "--json");
  const { paced } = JSON.parse(result) as { paced: number };
  const dose = (paced * 0.34 * 52.5) / (contacts * 37.85411784);
  expect([status, paced]).toEqual([0, 2_800]);
  expect((dose / 1.2 - 1) * 100).toBeCloseTo(Number(plan.candidates[0]?.["error_percent"]), 9);
});

test("a cap finer than settings can say is written rounded down, so that simulate takes it", async () => {
  const settings = join(folder(), "settings.json");
  const log = join(folder({ "log.csv": "time_s\n40\n80\n" }), "log.csv");
  await planJson(argsOf({ ...SOUND, cap: "99.12345678", "settings-out": settings }));
  const { result } = await run("simulate", log, "--settings", settings, "--json");
  expect(JSON.parse(result)).toMatchObject({
    settings: { ratio: "28:11", cap: expect.closeTo(99.123456, 3) as number },
  });
});

test("a refused plan writes no settings and says so", async () => {
  const settings = join(folder(), "refused.json");
  const ran = await runPlan(argsOf({ ...SOUND, peak: "600 gal/min", "settings-out": settings }));
  expect(ran.status).toBe(1);
  expect(ran.talk).toContain("is not written: the plan is refused");
  expect(() => readFileSync(settings)).toThrow();
});

test("the help has every option of the plan and an example", async () => {
  const { status, result } = await runPlan(["--help"]);
  const options =
    "contact-volume dose demand residual strength specific-gravity stroke-volume pump-rate cap peak typical low tank ph " +
    "temperature contact-tank baffling json explain from settings-out sheet";
  expect(status).toBe(0);
  expect(options.split(" ").filter((option) => !result.includes(`--${option}`))).toEqual([]);
  expect(result).toContain("Example");
});
