/**
 * What real meters do and the demo does not, as generated cases: recorded logs of a home, of a pumped source and of
 * the raw edges of a register showed these shapes.
 */
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { randomFrom } from "../../harness/stimuli/random.js";
import { folder, run } from "./kit.js";

const RATIOS = ["1:1", "2:1", "1:7", "3:2", "16:7", "1041:500"];
const CADENCES = ["spread", "prompt"];

interface Result {
  readonly contacts: number;
  readonly earned: number;
  readonly paced: number;
  readonly owed: number;
  readonly remainder: number;
  readonly bounces: number;
  readonly shed: { readonly [cause: string]: number };
  readonly alarms: readonly { readonly alarm: string; readonly raised: number }[];
  readonly laws: readonly { readonly law: string; readonly answer: string }[];
}

/** Times of contacts from the gaps between them, in seconds. */
function contacts(gaps: readonly number[]): string {
  let at = 0;
  return `time_s\n${gaps.map((gap) => `${(at += gap).toFixed(6)}\n`).join("")}`;
}

/** Short draws of a tap, some so fast that contacts come 0.19 s apart, between silences of up to 7.6 h. */
function home(): string {
  const random = randomFrom(11);
  const gaps: number[] = [];
  for (let draw = 0; draw < 120; draw++) {
    gaps.push(draw % 40 === 39 ? 27_360 : 20 + 900 * random() ** 3);
    const pace = 0.19 + 3 * random() ** 2;
    for (let i = 0; i < 3 + 25 * random(); i++) gaps.push(pace * (1 + 0.1 * random()));
  }
  return contacts(gaps);
}

/** A pump that is on for hours at one steady pace, off for hours, on again. */
function pumped(): string {
  return contacts([
    9,
    ...[400, 21_600, 400, 21_600, 400].flatMap((part) =>
      part > 400 ? [part] : Array.from({ length: part }, () => 8.64),
    ),
  ]);
}

/** Raw edges of a slow register: closures that last seconds, uneven, and a log that ends while it is closed. */
function register(): string {
  const random = randomFrom(7);
  let at = 33.3;
  const rows: string[] = [];
  for (let i = 0; i < 75; i++) {
    rows.push(`${at.toFixed(6)},close`);
    at += 0.4 + 3.6 * random();
    rows.push(`${at.toFixed(6)},open`);
    at += 0.3 + 4 * random();
  }
  rows.push(`${at.toFixed(6)},close`);
  return `time_s,event\n${rows.join("\n")}\n`;
}

async function simulateText(
  log: string,
  ...options: string[]
): Promise<{ status: number | null; result: Result }> {
  const path = join(folder({ "log.csv": log }), "log.csv");
  const { status, result } = await run("simulate", path, ...options, "--json");
  return { status, result: JSON.parse(result) as Result };
}

describe.each([
  ["a home's taps", home()],
  ["a pumped source", pumped()],
  ["a register's edges", register()],
])("%s", (_, log) => {
  const rows = log.trimEnd().split("\n").slice(1);
  const qualified = rows.filter((row) => !row.includes("open")).length;

  test.each(RATIOS.flatMap((ratio) => CADENCES.map((cadence) => [ratio, cadence] as const)))(
    "at %s, %s: every contact earns exactly, every stroke is accounted for, all laws hold",
    async (ratio, cadence) => {
      const { status, result } = await simulateText(
        log,
        "--ratio",
        ratio,
        "--cap",
        "120",
        "--cadence",
        cadence,
      );
      const [strokes = 0, per = 1] = ratio.split(":").map(Number);
      const shed = Object.values(result.shed).reduce((sum, count) => sum + count, 0);
      expect({
        status,
        contacts: result.contacts,
        earned: result.earned,
        remainder: result.remainder,
        accounted: result.paced + shed,
        owed: result.owed,
        bounces: result.bounces,
        laws: result.laws.filter(({ answer }) => answer !== "holds"),
      }).toEqual({
        status: 0,
        contacts: qualified,
        earned: Math.floor((qualified * strokes) / per),
        remainder: (qualified * strokes) % per,
        accounted: result.earned,
        owed: 0,
        bounces: 0,
        laws: [],
      });
    },
  );
});

test("contacts 0.19 s apart at a cap of 120 are shed at the limit and nowhere else", async () => {
  const { result } = await simulateText(home(), "--ratio", "1:1", "--cap", "120");
  expect(result.shed["limit"]).toBeGreaterThan(0);
  expect(result.paced + (result.shed["limit"] ?? 0)).toBe(result.earned);
});

test("a steady pumped source sheds nothing over any pause, since the last strokes come within the grace", async () => {
  const { result } = await simulateText(pumped(), "--ratio", "2:1", "--cap", "120");
  expect([result.paced, result.alarms]).toEqual([result.earned, []]);
});

test("a silence longer than was set is alarmed once each time", async () => {
  const { result } = await simulateText(pumped(), "--ratio", "1:1", "--cap", "120", "--silent", "1 h");
  expect(result.alarms).toEqual([expect.objectContaining({ alarm: "silent", raised: 2 })]);
});

test("a log that ends while the contact is closed counts that closure, once it has qualified", async () => {
  const closed = await simulateText("time_s,event\n1,close\n", "--ratio", "1:1", "--cap", "120");
  const slow = await simulateText(
    "time_s,event\n1,close\n1.5,open\n",
    "--ratio",
    "1:1",
    "--cap",
    "120",
    "--closed",
    "1 s",
  );
  expect([closed.result.contacts, closed.result.paced, slow.result.contacts, slow.result.bounces]).toEqual([
    1, 1, 0, 1,
  ]);
});

test("closures of seconds are no bounce and no fault", async () => {
  const { result } = await simulateText(register(), "--ratio", "1:7", "--cap", "120");
  expect([result.bounces, result.alarms]).toEqual([0, []]);
});
