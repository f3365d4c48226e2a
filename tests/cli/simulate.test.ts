/**
 * A log through the pacer by the command: the accounts, the files, the exit status.
 */
import { readFileSync, readdirSync, symlinkSync, lstatSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { packageVersion } from "../../harness/files/package-root.js";
import { folder, run, runProcess } from "./kit.js";

interface Law {
  readonly law: string;
  readonly held: boolean;
  readonly answer: string;
}

interface Result {
  readonly contacts: number;
  readonly earned: number;
  readonly paced: number;
  readonly primed: number;
  readonly owed: number;
  readonly remainder: number;
  readonly shed: { readonly [cause: string]: number };
  readonly laws: readonly Law[];
  readonly [name: string]: unknown;
}

const LAWS = [
  ...["proportion", "balance", "cap", "causality", "prime", "silence", "debt", "still-water"],
  ...["wake-ups", "time-shift", "lateness", "power-cycle", "bounce", "totality", "guard"],
];
const NOTHING_SHED = { limit: 0, still: 0, hold: 0, inhibit: 0, trip: 0, power: 0 };

/** A contact each `everyS` seconds. */
function steady(contacts: number, everyS: number): string {
  return `time_s\n${Array.from({ length: contacts }, (_, i) => `${(i * everyS).toFixed(1)}\n`).join("")}`;
}

async function simulateText(
  log: string,
  ...options: string[]
): Promise<{ status: number | null; result: Result }> {
  const { status, result, talk } = await run(
    "simulate",
    join(folder({ "log.csv": log }), "log.csv"),
    ...options,
    "--json",
  );
  expect(talk).toBe("");
  return { status, result: JSON.parse(result) as Result };
}

test("the JSON of a run holds the whole account, law by law", async () => {
  const { status, result } = await simulateText(steady(100, 2), "--ratio", "3:2", "--cap", "120");
  const { laws, settings, versions, ...accounts } = result;
  expect(accounts).toEqual({
    contacts: 100,
    earned: 150,
    paced: 150,
    primed: 0,
    owed: 0,
    remainder: 0,
    shed: NOTHING_SHED,
    ignored: 0,
    rejected: 0,
    bounces: 0,
    refused: 0,
    most_owed: 3,
    alarms: [],
    faults: [],
    cap: { strokes: 0, stretches: 0, first_s: null, longest_s: 0 },
    longest_water_between_strokes: { contacts: 2, from_s: 0, until_s: 2.333333 },
    first_s: 0,
    last_s: 198,
  });
  expect(laws.map(({ law, held, answer }) => [law, held, answer])).toEqual(
    LAWS.map((law) => [law, true, "holds"]),
  );
  expect(settings).toMatchObject({ ratio: "3:2", cap: 120 });
  expect([status, versions]).toEqual([0, { tallystroke: packageVersion(), node: process.version }]);
});

test("a log without a row is an empty log: nothing is earned, and what was not seen is not a pass", async () => {
  const { status, result } = await simulateText("time_s\n", "--ratio", "2:1", "--cap", "120");
  expect([result.contacts, result.earned, result.paced, result["first_s"]]).toEqual([0, 0, 0, null]);
  expect(result.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(status).toBe(result.laws.every(({ held }) => held) ? 0 : 3);
});

test("a last row without a line end counts", async () => {
  const { result } = await simulateText("time_s\n1\n2", "--ratio", "1:1", "--cap", "120");
  expect(result.contacts).toBe(2);
});

test("comments may stand anywhere, with anything in them", async () => {
  const log = '# "a\ntime_s,event\n# 1,contact\n1,contact\n#\n2,contact\n# é, "b';
  const { result } = await simulateText(log, "--ratio", "1:1", "--cap", "120");
  expect(result.contacts).toBe(2);
});

test("bounce, a contact too fast, a hold, a prime and a trip each have their place in the accounts", async () => {
  const log = [
    "time_s,event",
    ...["0,close", "0.002,open", "0.004,close", "0.3,open"], // one contact, one bounce
    ...["1,contact", "1.01,contact"], // the second is too fast
    ...["2,hold-on", "3,contact", "4,hold-off"], // ignored
    ...["5,prime-on", "7.5,prime-off"], // six strokes at 120 a minute
    ...["20,contact", "20.5,contact", "21,contact", "21.5,contact"], // over the guard
    "",
  ].join("\n");
  const { result } = await simulateText(
    log,
    ...[
      "--ratio",
      "1:1",
      "--cap",
      "120",
      "--cadence",
      "prompt",
      "--least-contact",
      "100 ms",
      "--guard",
      "10/h",
    ],
  );
  const { contacts, earned, paced, primed, ignored, rejected, bounces, shed, alarms } = result;
  expect({ contacts, earned, paced, primed, ignored, rejected, bounces, shed, alarms }).toEqual({
    contacts: 6,
    earned: 6,
    paced: 4,
    primed: 6,
    ignored: 1,
    rejected: 1,
    bounces: 1,
    shed: { ...NOTHING_SHED, trip: 2 },
    alarms: [
      { alarm: "too-fast", raised: 1, first_s: 1.01, standing: false },
      { alarm: "tripped", raised: 1, first_s: 21, standing: true },
    ],
  });
});

test("inputs of one instant act in the documented order, however the log sorts them", async () => {
  const head = "time_s,event\n0,contact\n";
  const tails = ["5,contact\n5,hold-on\n", "5,hold-on\n5,contact\n"];
  const results = await Promise.all(
    tails.map((tail) => simulateText(head + tail, "--ratio", "1:1", "--cap", "60", "--cadence", "prompt")),
  );
  expect(results.map(({ result }) => [result.contacts, result["ignored"]])).toEqual([
    [2, 0],
    [2, 0],
  ]);
});

test("the strokes file has a row for every stroke, to the microsecond", async () => {
  const log = "time_s,event\n1,contact\n2,contact\n10,prime-on\n10.5,prime-off\n";
  const cwd = folder({ "log.csv": log });
  const out = join(cwd, "strokes.csv");
  await run(
    ...[
      "simulate",
      join(cwd, "log.csv"),
      "--ratio",
      "1:1",
      "--cap",
      "180",
      "--cadence",
      "prompt",
      "--strokes",
      out,
    ],
  );
  expect(readFileSync(out, "utf8")).toBe(
    "time_s,cause\n1.000000,paced\n2.000000,paced\n10.000000,primed\n10.333334,primed\n",
  );
});

test("a trace is a log too: run again it gives the same trace, strokes and accounts", async () => {
  const log = `${steady(60, 1.7)
    .replace("time_s", "time_s,event")
    .replaceAll(/(\d)\n/g, "$1,contact\n")}110,prime-on\n112,prime-off\n`;
  const cwd = folder({ "log.csv": log });
  const settings = ["--ratio", "7:3", "--cap", "60", "--owed-limit", "6"];
  const ended = [];
  for (const [from, to] of [
    ["log.csv", "first.csv"],
    ["first.csv", "second.csv"],
  ] as const) {
    const files = ["--trace", join(cwd, to), "--strokes", join(cwd, `strokes-${to}`)];
    ended.push(await run("simulate", join(cwd, from), ...settings, ...files, "--json"));
  }
  const text = (name: string): string => readFileSync(join(cwd, name), "utf8");
  expect(ended[1]).toEqual(ended[0]);
  expect(text("second.csv")).toBe(text("first.csv"));
  expect(text("strokes-second.csv")).toBe(text("strokes-first.csv"));
  expect(text("first.csv").split("\n").length).toBeGreaterThan(200);
});

test("wake-ups and what came out are skipped in a log: a replay makes its own", async () => {
  const bare = "time_s,event,detail\n1,contact,\n2,contact,\n";
  const full =
    "time_s,event,detail\n0,wake,\n1,contact,\n1,counted,contacts=9 earned=9\n1.1,paced,\n1.5,wake,\n" +
    "2,contact,\n3,alarm-on,silent\n9,shed,cause=limit strokes=4\n9000,wake,\n";
  const cwd = folder({ "bare.csv": bare, "full.csv": full });
  const traces = [];
  for (const name of ["bare", "full"]) {
    const out = join(cwd, `${name}-trace.csv`);
    await run(...["simulate", join(cwd, `${name}.csv`), "--ratio", "1:1", "--cap", "60", "--trace", out]);
    traces.push(readFileSync(out, "utf8"));
  }
  expect(traces[1]).toBe(traces[0]);
});

test("outputs leave nothing else behind, and keep a link that they are written through", async () => {
  const cwd = folder({ "log.csv": steady(5, 2), "real.csv": "old\n" });
  symlinkSync(join(cwd, "real.csv"), join(cwd, "link.csv"));
  await run(
    "simulate",
    join(cwd, "log.csv"),
    "--ratio",
    "1:1",
    "--cap",
    "60",
    "--strokes",
    join(cwd, "link.csv"),
  );
  expect(readdirSync(cwd).sort()).toEqual(["link.csv", "log.csv", "real.csv"]);
  expect(lstatSync(join(cwd, "link.csv")).isSymbolicLink()).toBe(true);
  expect(readFileSync(join(cwd, "real.csv"), "utf8").split("\n", 1)).toEqual(["time_s,cause"]);
});

test("standard input is a log by the name of -", async () => {
  const { status, result, talk } = await runProcess(
    ["simulate", "-", "--ratio", "2:1", "--cap", "120", "--json"],
    folder(),
    steady(40, 2),
  );
  expect([status, talk, (JSON.parse(result) as Result).paced]).toEqual([0, "", 80]);
});

test.each([
  ["the command", ["--help"], "tallystroke simulate LOG.csv --ratio 2:1 --cap 120"],
  ["simulate", ["simulate", "--help"], "tallystroke simulate LOG.csv --ratio 3:2"],
  ["demo", ["demo", "--help"], "tallystroke demo"],
])("the help of %s has an example, goes to standard output and ends in 0", async (_, args, example) => {
  const { status, result, talk } = await run(...args);
  expect([status, talk, result.includes(example)]).toEqual([0, "", true]);
});

test.each([[], ["plan"], ["simulate"], ["demo"]])(
  "no line of the help of %j is longer than 80 columns",
  async (...verb) => {
    const { result } = await run(...verb, "--help");
    expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
  },
);

test("--version tells the package's version", async () => {
  expect(await run("--version")).toEqual({ status: 0, result: `${packageVersion()}\n`, talk: "" });
});
