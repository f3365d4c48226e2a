/**
 * Does `journal` say what a live feed left behind, also while it goes on and where it is damaged, and change nothing?
 */
import {
  cpSync,
  existsSync,
  openSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import { join } from "node:path";
import { parse } from "csv-parse/sync";
import { expect, test } from "vitest";
import { PLAN, startFeed } from "../journal/export-kit.js";
import { folder, run } from "./kit.js";

const MIDNIGHT = Date.UTC(2026, 10, 27);
type Rows = readonly { readonly [column: string]: string }[];
const rowsOf = (file: string): Rows => parse(readFileSync(file, "utf8"), { columns: true });

/** A feed over midnight: killed with a stroke under way, gone on from, held, and ended. */
function feedOverMidnight(at: string): void {
  const first = startFeed(at, { wallMs: MIDNIGHT - 60_000, plan: PLAN, isMute: true });
  for (const seconds of [1, 11, 21, 31]) first.give(seconds, "contact");
  first.give(34);
  first.kill();
  const second = startFeed(at, {
    wallMs: MIDNIGHT - 20_000,
    darkMicros: 5_000_000,
    plan: PLAN,
    resolved: "uncertain",
  });
  second.give(10, "contact");
  second.give(30, "contact");
  second.give(40, "hold-on");
  second.give(41, "contact");
  second.give(50, "hold-off");
  second.note("suspended", "the machine slept for 3 s");
  second.end("it was asked to");
}

async function exported(at: string, ...args: string[]) {
  const { status, result, talk } = await run("journal", at, "--json", ...args);
  return { status, talk, json: result === "" ? undefined : (JSON.parse(result) as JournalJson) };
}
interface JournalJson {
  readonly days: readonly { readonly [name: string]: string | number | null }[];
  readonly totals: { readonly [name: string]: string | number | null } | null;
  readonly owed: number | null;
  readonly runs: readonly { readonly [name: string]: unknown }[];
  readonly not_whole: readonly string[];
}

test("days and totals tell water, solution, dose, strokes, shed, restarts and doubt, and add up", async () => {
  const cwd = folder();
  const at = join(cwd, "J");
  feedOverMidnight(at);
  const files = ["days", "totals", "log", "trace"].map((name) => `--${name}=${join(cwd, `${name}.csv`)}`);
  const { status, json, talk } = await exported(at, ...files);
  expect([status, talk, json?.not_whole]).toEqual([0, "", []]);
  const days = rowsOf(join(cwd, "days.csv"));
  const [total] = rowsOf(join(cwd, "totals.csv"));
  // 4 and 1 contacts before midnight; 1 that earns and 1 that is ignored after it.
  expect(days.map((day) => [day["date"], day["contacts"], day["ignored_contacts"], day["water_l"]])).toEqual([
    ["2026-11-26", "5", "0", "50"],
    ["2026-11-27", "1", "1", "20"],
  ]);
  expect(total).toMatchObject({
    contacts: "6",
    water_l: "70",
    restarts: "1",
    dark_s: "5",
    uncertain_strokes: "1",
  });
  const count = (row: { readonly [column: string]: string } | undefined, name: string): number =>
    Number(row?.[name]);
  for (const name of [
    "contacts",
    "paced_strokes",
    "earned_strokes",
    "shed_hold_strokes",
    "water_l",
    "solution_ml",
  ]) {
    expect([name, days.reduce((sum, day) => sum + count(day, name), 0)]).toEqual([
      name,
      expect.closeTo(count(total, name), 9),
    ]);
  }
  const strokes = count(total, "paced_strokes");
  expect(count(total, "earned_strokes")).toBe(
    strokes + count(total, "shed_hold_strokes") + (json?.owed ?? NaN),
  );
  expect(count(total, "mean_dose_mg_per_l")).toBeCloseTo((strokes * 0.2 * 51) / 70, 6);
  expect([count(total, "solution_ml"), total?.["wanted_dose_mg_per_l"]]).toEqual([
    expect.closeTo(strokes * 0.2, 9),
    "2.55",
  ]);
  expect(json?.totals?.["water_l"]).toBe(70);
});

test("the log tells starts, ends, orders, alarms and troubles in the order in which they came", async () => {
  const cwd = folder();
  feedOverMidnight(join(cwd, "J"));
  const { status } = await run("journal", join(cwd, "J"), "--log", join(cwd, "log.csv"));
  const rows = rowsOf(join(cwd, "log.csv")).map((row) => `${row["local_time"] ?? ""} ${row["what"] ?? ""}`);
  expect(status).toBe(0);
  expect(rows.filter((row) => !row.includes("alarm"))).toEqual([
    "2026-11-26 23:59:00 start",
    "2026-11-26 23:59:40 start",
    "2026-11-27 00:00:20 hold-on",
    "2026-11-27 00:00:30 hold-off",
    "2026-11-27 00:00:30 suspended",
    "2026-11-27 00:00:30 end",
  ]);
  expect(rows.some((row) => row.endsWith(" alarm"))).toBe(true);
});

test("the trace, with the settings beside it, replays to the same contacts and the same earned strokes", async () => {
  const cwd = folder();
  const at = join(cwd, "J");
  feedOverMidnight(at);
  const [trace, settings] = [join(cwd, "t.csv"), join(cwd, "s.json")];
  const { json } = await exported(at, "--trace", trace, "--settings-out", settings);
  const replayed = await run("simulate", trace, "--settings", settings, "--json");
  const replay = JSON.parse(replayed.result) as { readonly [name: string]: number };
  const {
    contacts,
    earned_strokes: earned,
    paced_strokes: paced,
    ignored_contacts: ignored,
  } = json?.totals ?? {};
  expect(replayed.status).toBe(0);
  expect([replay["contacts"], replay["earned"], replay["paced"], replay["ignored"]]).toEqual([
    contacts,
    earned,
    // What is still owed at the end of the journal is fed at the end of the replay.
    Number(paced) + (json?.owed ?? NaN),
    ignored,
  ]);
});

test("a feed whose last step shares its microsecond with the power's going loses nothing in the replay", async () => {
  const cwd = folder();
  const at = join(cwd, "J");
  const fed = startFeed(at, { wallMs: MIDNIGHT });
  fed.give(1, "contact");
  fed.give(7, "contact");
  fed.kill();
  startFeed(at, { wallMs: MIDNIGHT, darkMicros: 5_000_000 }).end("done");
  const [trace, settings] = [join(cwd, "t.csv"), join(cwd, "s.json")];
  await exported(at, "--trace", trace, "--settings-out", settings);
  const { result } = await run("simulate", trace, "--settings", settings, "--json");
  expect(JSON.parse(result)).toMatchObject({ contacts: 2 });
});

test("without a plan water and dose stay open; --plan tells them for all", async () => {
  const cwd = folder({ "plan.json": PLAN });
  const at = join(cwd, "J");
  const fed = startFeed(at, { wallMs: MIDNIGHT });
  fed.give(1, "contact");
  fed.end("done");
  const without = await exported(at);
  expect(without.json?.totals).toMatchObject({ contacts: 1, water_l: null, mean_dose_mg_per_l: null });
  expect((await run("journal", at)).result.replace(/\s+/g, " ")).toContain("give --plan PLAN.json");
  const { json } = await exported(at, `--plan=${join(cwd, "plan.json")}`);
  // 3.785411784 L is a gallon.
  expect(json?.totals).toMatchObject({ water_l: 10, water_gal: 2.64172052, wanted_dose_mg_per_l: 2.55 });
});

test("it reads while the feed goes on, and the feed does not notice", async () => {
  const at = join(folder(), "J");
  const fed = startFeed(at, { wallMs: MIDNIGHT });
  fed.give(1, "contact");
  const before = await exported(at);
  fed.give(11, "contact");
  const after = await exported(at);
  fed.end("done");
  expect(
    [before, after].map(({ status, json }) => [status, json?.totals?.["contacts"], json?.runs[0]?.["end"]]),
  ).toEqual([
    [0, 1, null],
    [0, 2, null],
  ]);
});

test("reading changes no byte of what an ended feed left", async () => {
  const cwd = folder();
  const at = join(cwd, "J");
  feedOverMidnight(at);
  const bytes = (): Buffer => readFileSync(join(at, "journal.sqlite"));
  const before = bytes();
  await run("journal", at, "--days", join(cwd, "d.csv"));
  expect(bytes().equals(before)).toBe(true);
  expect(readdirSync(at).filter((name) => name.includes("partial"))).toEqual([]);
});

test("a clock that is set back in the feed makes one row a date", async () => {
  const at = join(folder(), "J");
  const fed = startFeed(at, { wallMs: MIDNIGHT - 5_000 });
  for (const [seconds, setMs] of [
    [1, 0],
    [10, -20_000],
    [11, 40_000],
  ] as const) {
    fed.setClock(setMs);
    fed.give(seconds, "contact");
  }
  fed.end("done");
  const { json } = await exported(at);
  expect(json?.days.map((day) => [day["date"], day["contacts"]])).toEqual([
    ["2026-11-26", 2],
    ["2026-11-27", 1],
  ]);
});

/** Puts nonsense over a part of a file, from and to as shares of its length. */
function damage(file: string, from: number, to: number): void {
  const { size } = statSync(file);
  const start = Math.floor(size * from);
  const nonsense = Buffer.alloc(Math.floor(size * to) - start, 0x5a);
  writeSync(openSync(file, "r+"), nonsense, 0, nonsense.length, start);
}

test("of a damaged journal what stands before the damage is told, its days marked, the rest said, status 3", async () => {
  const cwd = folder();
  const at = join(cwd, "whole");
  const fed = startFeed(at, { wallMs: MIDNIGHT - 3_600_000 });
  for (let seconds = 30; seconds <= 7_200; seconds += 30) fed.give(seconds, "contact");
  fed.end("done");
  const whole = await exported(at);
  expect([whole.status, whole.json?.totals?.["contacts"]]).toEqual([0, 240]);
  let readInPart = 0;
  for (const share of [0.3, 0.5, 0.7, 0.85]) {
    const bad = join(cwd, `bad-${share}`);
    cpSync(at, bad, { recursive: true });
    damage(join(bad, "journal.sqlite"), share, share + 0.1);
    const days = join(cwd, `days-${share}.csv`);
    const { status, json, talk } = await exported(bad, `--days=${days}`);
    expect([share, status]).toEqual([share, 3]);
    expect(talk).toContain("NOT WHOLE");
    expect(existsSync(days)).toBe(true);
    const marked = json?.days.filter((day) => day["whole"] === "no").length ?? 0;
    const contacts = Number(json?.totals?.["contacts"]);
    expect([share, marked > 0, contacts <= 240]).toEqual([share, true, true]);
    if (contacts > 0 && contacts < 240) readInPart += 1;
  }
  expect(readInPart).toBeGreaterThan(0);
});

test.each([
  ["no folder", "nowhere", undefined, 2, /there is no journal/],
  ["a folder without one", "empty", undefined, 2, /there is no journal/],
  ["a database of something else", "other", "SQLite format 3\0", 3, /./],
  ["no database at all", "text", "time_s\n1\n", 3, /the journal cannot be read: it is no database/],
])("%s is told, and nothing is made", async (_, name, content, expected, words) => {
  const cwd = folder();
  if (name !== "nowhere") startFeed(join(cwd, name), { wallMs: 0 }).end("done");
  const file = join(cwd, name, "journal.sqlite");
  if (content !== undefined) writeFileSync(file, content);
  const at = name === "empty" ? cwd : join(cwd, name);
  const { status, result, talk } = await run("journal", at);
  expect([status, result]).toEqual([expected, ""]);
  expect(talk.replace(/\s+/g, " ")).toMatch(words);
  expect(existsSync(join(cwd, "nowhere"))).toBe(false);
});

test("a journal that was just begun says so", async () => {
  const at = join(folder(), "J");
  startFeed(at, { wallMs: MIDNIGHT }).kill();
  const { status, result } = await run("journal", at);
  expect(status).toBe(0);
  expect(result).toContain("0 that earned");
});

test.each([
  ["one file for two", ["--days=x.csv", "--log=x.csv"], /--log is the file of --days/],
  ["standard output by a dash", ["--days=-"], /--days is -\. Mend: name a file/],
  ["a plan that is not there", ["--plan=nowhere.json"], /nowhere\.json: cannot be read/],
  ["a folder that is not there", ["--days=/nowhere/x.csv"], /cannot be written/],
])("%s is bad input", async (_, args, expected) => {
  const at = join(folder(), "J");
  startFeed(at, { wallMs: MIDNIGHT }).end("done");
  const { status, talk } = await run("journal", at, ...args);
  expect(status).toBe(2);
  expect(talk).toMatch(expected);
});

test("nothing that a person reads is wider than 80 columns, and the help has every option and an example", async () => {
  const at = join(folder(), "J");
  feedOverMidnight(at);
  const { result } = await run("journal", at);
  expect(result.split("\n").filter((line) => line.length > 80)).toEqual([]);
  const help = (await run("journal", "--help")).result;
  const options = "plan days totals log trace settings-out json".split(" ");
  expect(options.filter((option) => !help.includes(`--${option} `))).toEqual([]);
  expect(help).toContain("Examples:");
});
