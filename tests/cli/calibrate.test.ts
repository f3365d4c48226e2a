/**
 * Does `calibrate` keep its contracts: numbers, files, the exit status, and nothing typed lost?
 */
import { spawn } from "node:child_process";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { spawn as spawnOnTerminal } from "@lydell/node-pty";
import { expect, test } from "vitest";
import { folder, NODE_ARGS, run, runProcess } from "./kit.js";

/** Invented: a stroke of 0.34 mL with the scatter of a sound pump, at three rates, the first one returned to. */
const SOUND = `# invented
rate_per_min,strokes,volume_ml
60,300,102.1
60,300,101.9
60,300,102.0
90,300,102.2
90,300,102.1
120,300,101.8
120,300,102.0
60,300,102.3
60,300,102.2
`;
const UNEVEN = SOUND.replace("101.8", "95");

interface Json {
  readonly ml_per_stroke: {
    readonly n: number;
    readonly mean: number;
    readonly interval_95: readonly number[] | null;
  };
  readonly steady_state_accuracy: { readonly percent: number | null; readonly verdict: string };
  readonly repeatability: { readonly percent: number | null; readonly verdict: string };
  readonly linearity: { readonly percent: number | null; readonly verdict: string };
  readonly trials: readonly { readonly [name: string]: unknown }[];
  readonly warnings: readonly { readonly [name: string]: string }[];
  readonly strokes_enough: number | null;
  readonly planned: { readonly rate_per_min: number | null; readonly n: number };
}
async function calibrated(
  text: string,
  ...args: string[]
): Promise<Json & { readonly status: number | null }> {
  const file = join(folder({ "t.csv": text }), "t.csv");
  const { status, result, talk } = await run("calibrate", file, "--json", ...args);
  if (result === "") throw new Error(talk);
  return { ...(JSON.parse(result) as Json), status };
}

test("a drawdown at three rates gives stroke, interval and the three figures", async () => {
  const json = await calibrated(SOUND, "--graduation=0.1 mL");
  const mean = (102.1 + 101.9 + 102 + 102.2 + 102.1 + 101.8 + 102 + 102.3 + 102.2) / 2700;
  expect([json.status, json.ml_per_stroke.n, json.ml_per_stroke.mean]).toEqual([
    0,
    9,
    expect.closeTo(mean, 12),
  ]);
  const [low = 0, high = 0] = json.ml_per_stroke.interval_95 ?? [];
  expect([low < mean, high > mean, high - mean]).toEqual([true, true, expect.closeTo(mean - low, 12)]);
  // Within one visit: (102.1 - 101.9) / 102. At 60 again: (102.3 - 101.9) / 300 * 60 over 101.9 / 300 * 120.
  expect(json.steady_state_accuracy).toMatchObject({
    percent: expect.closeTo((0.2 / 101.9) * 100, 6) as number,
    verdict: "within",
  });
  expect(json.repeatability.percent).toBeCloseTo(((0.4 * 60) / (101.9 * 120)) * 100, 6);
  expect(json.linearity.verdict).toBe("within");
  expect([json.strokes_enough, json.warnings]).toEqual([30, []]);
});

test.each([
  ["figures are not judged unless asked for", UNEVEN, [], 0],
  ["all keep their limits", SOUND, ["--judge=all"], 0],
  ["one is outside", UNEVEN, ["--judge=all"], 1],
  ["the one outside was not asked about", UNEVEN, ["--judge=repeatability"], 0],
  [
    "one cannot be told, which is never a pass",
    "strokes,volume_ml\n300,102\n300,102\n",
    ["--judge=accuracy,linearity"],
    3,
  ],
  ["outside stands before cannot tell", "strokes,volume_ml\n300,102\n300,99\n", ["--judge=all"], 1],
  [
    "half of 1.5 % is within 1 %",
    "strokes,volume_ml\n300,102\n300,100.5\n",
    ["--judge=accuracy", "--spread=half"],
    0,
  ],
  ["the whole of it is not", "strokes,volume_ml\n300,102\n300,100.5\n", ["--judge=accuracy"], 1],
])("exit status: %s", async (_, text, args, expected) => {
  expect((await calibrated(text, ...args)).status).toBe(expected);
});

test("what was measured goes into a plan that then answers, as measured", async () => {
  const cwd = folder({ "t.csv": SOUND });
  const file = join(cwd, "plan.json");
  const made = await run("calibrate", join(cwd, "t.csv"), "--plan-file", file, "--stroke-setting", "70 %");
  expect(made.status).toBe(0);
  expect(made.talk).toContain("Add --contact-volume");
  const rest = [
    "--contact-volume=10 gal",
    "--dose=1.2 mg/L",
    "--strength=5.25 %",
    "--cap=120",
    "--peak=15 gal/min",
  ];
  const planned = await run("plan", "--from", file, ...rest, "--json");
  const plan = JSON.parse(planned.result) as {
    stroke_volume_ml: number;
    warnings: readonly { id: string }[];
  };
  expect([planned.status, plan.stroke_volume_ml]).toEqual([0, expect.closeTo(0.340222, 6)]);
  expect(plan.warnings.map(({ id }) => id)).not.toContain("stroke-not-full");
});

test("--at plans with the trials at one rate alone", async () => {
  const json = await calibrated(SOUND, "--at=120");
  expect(json.planned).toMatchObject({
    rate_per_min: 120,
    n: 2,
    mean: expect.closeTo(203.8 / 600, 12) as number,
  });
});

test.each([
  ["a file that is not there", ["nowhere.csv"], /nowhere\.csv: cannot be read/],
  ["a graduation without a unit", ["t.csv", "--graduation=1"], /--graduation "1" has no unit/],
  ["a reading error of nothing", ["t.csv", "--reading=0"], /--reading is "0"/],
  ["a spread that is none", ["t.csv", "--spread=third"], /Allowed choices are full, half/],
  ["a figure that is none", ["t.csv", "--judge=accuracy,turndown"], /--judge is "accuracy,turndown"/],
  [
    "a rate without trials",
    ["t.csv", "--at=100"],
    /--at is a rate without trials\. Mend: use one of 60, 90, 120/,
  ],
  ["a rated capacity that is a volume", ["t.csv", "--rated=3 gal"], /--rated "gal" is not a unit of flow/],
  ["a plan file that is no plan", ["t.csv", "--plan-file=t.csv"], /t\.csv/],
  ["trials to keep beside a file", ["t.csv", "--trials=new.csv"], /--trials stands beside a file of trials/],
  ["trials over others", ["--trials=t.csv"], /--trials .*t\.csv is there already/],
  ["trials in a folder that is not there", ["--trials=no/such.csv"], /--trials cannot be made/],
])("%s is bad input", async (_, args, expected) => {
  const cwd = folder({ "t.csv": SOUND });
  const placed = args.map((arg) => arg.replace(/(^|=)(?=[\w/]+\.csv$)/, `$1${cwd}/`));
  const ended = await run("calibrate", ...placed);
  expect(ended.talk.replace(/\s+/g, " ")).toMatch(expected);
  expect([ended.status, ended.result]).toEqual([2, ""]);
});

test("nothing that a person reads is wider than 80 columns, and it names sources and cautions", async () => {
  const file = join(folder({ "t.csv": UNEVEN }), "t.csv");
  const { result } = await run("calibrate", file, "--graduation=2 mL", "--spread=half");
  expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
  const flat = result.replace(/\s+/g, " ");
  for (const part of [
    "95 % confidence (Student t)",
    "API Standard 675",
    "half spread",
    "TOO SHORT",
    "licensed operator",
  ]) {
    expect(flat).toContain(part);
  }
});

test("the help has every option and an example", async () => {
  const { status, result } = await run("calibrate", "--help");
  const options = "graduation reading rated spread judge at stroke-setting plan-file trials json";
  expect([status, options.split(" ").filter((option) => !result.includes(`--${option} `))]).toEqual([0, []]);
  expect(result).toContain("Examples:");
});

const ANSWERS = "1 mL\n300\n102\n120\n300\n101.5\n\n";
test("answers from a pipe are asked for on standard error, and the result stands alone on standard output", async () => {
  const cwd = folder();
  const { status, result, talk } = await runProcess(
    ["calibrate", "--json", "--trials", "t.csv"],
    cwd,
    `${ANSWERS}\n`,
  );
  expect([status, (JSON.parse(result) as Json).ml_per_stroke.mean]).toEqual([
    0,
    expect.closeTo(203.5 / 600, 12),
  ]);
  expect(talk).toContain("Strokes counted (Enter: no more trials): ");
  expect(readFileSync(join(cwd, "t.csv"), "utf8")).toBe(
    "rate_per_min,strokes,volume_ml\n120,300,102\n120,300,101.5\n",
  );
});

test("a file from standard input gives the same as the file", async () => {
  const cwd = folder({ "t.csv": SOUND });
  const [piped, filed] = await Promise.all([
    runProcess(["calibrate", "-"], cwd, SOUND),
    runProcess(["calibrate", "t.csv"], cwd),
  ]);
  expect([piped.status, piped.result]).toEqual([0, filed.result]);
});

test("input that ends in the middle of a trial is bad input, and what was typed is given back as lines to keep", async () => {
  const { status, result, talk } = await runProcess(["calibrate"], folder(), `${ANSWERS}300\n`);
  expect([status, result]).toEqual([2, ""]);
  expect(talk).toContain("Ended after 2 whole trials. Of one more trial there was only: 300 strokes.");
  expect(talk).toContain("rate_per_min,strokes,volume_ml\n120,300,102\n120,300,101.5\n");
});

test.each(["SIGINT", "SIGTERM"] as const)(
  "%s in the middle keeps the trials in their file",
  async (signal) => {
    const cwd = folder();
    let talk = "";
    const ended = await new Promise((resolve, reject) => {
      const child = spawn(process.execPath, [...NODE_ARGS, "calibrate", "--trials", "t.csv"], { cwd });
      child.stderr.on("data", (data: Buffer) => {
        talk += data.toString();
        if (talk.includes("Trial 3")) child.kill(signal);
      });
      child.on("error", reject);
      child.on("close", resolve);
      child.stdin.write(ANSWERS); // And no end: it waits for more.
    });
    expect([ended, readFileSync(join(cwd, "t.csv"), "utf8")]).toEqual([
      signal === "SIGINT" ? 130 : 143,
      "rate_per_min,strokes,volume_ml\n120,300,102\n120,300,101.5\n",
    ]);
    expect(talk).toContain("They are in t.csv");
  },
);

test("Ctrl-C at a terminal says what there is and ends as the signal does", async () => {
  const cwd = folder();
  const child = spawnOnTerminal(process.execPath, [...NODE_ARGS, "calibrate"], { cwd, cols: 80, rows: 24 });
  let seen = "";
  let answered = 0;
  const steps: readonly (readonly [question: string, answer: string])[] = [
    ["not known): ", "\r"],
    ["Strokes counted: ", "300\r"],
    ["unit): ", "102\r"],
    ["per minute (Enter: not known): ", "120\r"],
    ["no more trials): ", "\u0003"],
  ];
  const ended = await new Promise<number>((resolve) => {
    child.onData((data) => {
      seen += data;
      const step = steps[answered];
      if (step === undefined || !seen.includes(step[0])) return;
      answered += 1;
      seen = "";
      child.write(step[1]);
    });
    child.onExit(({ exitCode }) => {
      resolve(exitCode);
    });
  });
  expect(ended).toBe(130);
  expect(seen.replace(/\r/g, "")).toContain("rate_per_min,strokes,volume_ml\n120,300,102\n");
});

test("a plan file that is there keeps what it says", async () => {
  const cwd = folder({ "t.csv": SOUND });
  const file = join(cwd, "plan.json");
  writeFileSync(file, '{\n  "cap": 120,\n  "pump-rate": "3 gal/day"\n}\n');
  const { talk } = await run("calibrate", join(cwd, "t.csv"), "--plan-file", file);
  expect(talk).toContain("now has the measured stroke");
  expect(JSON.parse(readFileSync(file, "utf8"))).toEqual({
    cap: 120,
    "stroke-volume": "0.340222 mL",
    measured: true,
  });
  expect(existsSync(`${file}.partial-${process.pid}`)).toBe(false);
});
