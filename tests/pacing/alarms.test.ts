/**
 * Does every alarm stand while what it tells of lasts, and at no other time? The table of lib/pacing/state.ts, row by row.
 */
import { describe, expect, test } from "vitest";
import {
  type Alarm,
  ALARMS,
  type Effect,
  type Input,
  type InhibitCause,
  restoreSnapshot,
  type SettingsInput,
  takeSnapshot,
} from "../../lib/pacing/index.js";
import { at, run, valid } from "./kit.js";

function inhibit(atMicros: number, on: boolean, cause: InhibitCause): Input {
  return { kind: on ? "inhibit-on" : "inhibit-off", atMicros, cause };
}

function change(atMicros: number, strokes: number, confirmed = false): Input {
  return { kind: "settings", atMicros, settings: valid({ strokes }), confirmed };
}

/** Alarms that went on (+) and off (−), with their times. */
function told(effects: readonly Effect[]): string[] {
  return effects.flatMap((effect) => {
    if (effect.kind === "alarm-on") return [`+${effect.alarm} ${effect.atMicros}`];
    return effect.kind === "alarm-off" ? [`-${effect.alarm} ${effect.atMicros}`] : [];
  });
}

interface Row {
  readonly alarm: Alarm;
  readonly title: string;
  readonly settings: Partial<SettingsInput>;
  readonly inputs: readonly Input[];
  readonly told: readonly string[];
}

const QUIET = { silentMicros: 0 };
const GUARD = {
  ...QUIET,
  cadence: "prompt",
  guardBudgetStrokes: 1,
  guardPeriodMicros: 3_600_000_000,
} as const;

const ROWS: readonly Row[] = [
  {
    alarm: "stuck",
    title: "closed for exactly its time, until it opens",
    settings: { ...QUIET, stuckMicros: 50_000 },
    inputs: [at(1_000, "close"), at(90_000, "open")],
    told: ["+stuck 51000", "-stuck 90000"],
  },
  {
    alarm: "stuck",
    title: "not a microsecond before",
    settings: { ...QUIET, stuckMicros: 50_000 },
    inputs: [at(1_000, "close"), at(50_999, "open")],
    told: [],
  },
  {
    alarm: "stuck",
    title: "never where its time is 0",
    settings: { ...QUIET, stuckMicros: 0 },
    inputs: [at(1_000, "close"), at(900_000, "open")],
    told: [],
  },
  {
    alarm: "stuck",
    title: "again at the next closure, and not by a contact that is bounce",
    settings: { ...QUIET, stuckMicros: 50_000 },
    inputs: [at(1_000, "close"), at(60_000, "open"), at(61_000, "close"), at(200_000, "open")],
    told: ["+stuck 51000", "-stuck 60000", "+stuck 111000", "-stuck 200000"],
  },
  {
    alarm: "silent",
    title: "no contact since the start, until the next",
    settings: { silentMicros: 30_000 },
    inputs: [at(45_000), at(50_000)],
    told: ["+silent 30000", "-silent 45000", "+silent 80000"],
  },
  {
    alarm: "silent",
    title: "a contact in time puts it off, a rejected one does not",
    settings: { silentMicros: 30_000, leastContactMicros: 10_000 },
    inputs: [at(20_000), at(29_000), at(49_999)],
    told: ["+too-fast 29000", "-too-fast 49999", "+silent 79999"],
  },
  {
    alarm: "silent",
    title: "a contact in a hold ends it as well",
    settings: { silentMicros: 30_000 },
    inputs: [at(10, "hold-on"), at(40_000), at(41_000)],
    told: ["+silent 30000", "-silent 40000", "+silent 71000"],
  },
  {
    alarm: "too-fast",
    title: "sooner than the meter can make one, until the next good contact",
    settings: { ...QUIET, leastContactMicros: 1_000 },
    inputs: [at(5_000), at(5_999), at(5_999), at(6_000)],
    told: ["+too-fast 5999", "-too-fast 6000"],
  },
  {
    alarm: "owed-limit",
    title: "strokes were shed at the limit, until nothing is owed",
    settings: { ...QUIET, cadence: "prompt", owedLimitStrokes: 2 },
    inputs: [at(1_000), at(2_000), at(3_000), at(4_000)],
    told: ["+owed-limit 4000", "-owed-limit 21000"],
  },
  {
    alarm: "owed-limit",
    title: "or until what is owed is shed",
    settings: { ...QUIET, cadence: "prompt", owedLimitStrokes: 1 },
    inputs: [at(1_000), at(2_000), at(3_000), at(4_000, "hold-on"), at(5_000, "hold-off")],
    told: ["+owed-limit 3000", "-owed-limit 4000", "+shed-in-hold 4000", "-shed-in-hold 5000"],
  },
  {
    alarm: "still-water",
    title: "owed strokes were shed at the end of the grace, until the next contact",
    settings: { ...QUIET, cadence: "prompt", strokes: 2, graceMicros: 20_000 },
    inputs: [at(1_000), at(1_001), at(90_000)],
    told: ["+still-water 21001", "-still-water 90000"],
  },
  {
    alarm: "still-water",
    title: "not where all was made in time",
    settings: { ...QUIET, cadence: "prompt", strokes: 2, graceMicros: 20_000 },
    inputs: [at(1_000)],
    told: [],
  },
  {
    alarm: "shed-in-hold",
    title: "a hold shed what was owed, until the hold ends",
    settings: QUIET,
    inputs: [at(1_000), at(2_000, "hold-on"), at(3_000), at(9_000, "hold-off")],
    told: ["+shed-in-hold 2000", "-shed-in-hold 9000"],
  },
  {
    alarm: "shed-in-hold",
    title: "not where nothing was owed",
    settings: QUIET,
    inputs: [at(2_000, "hold-on"), at(3_000), at(9_000, "hold-off")],
    told: [],
  },
  {
    alarm: "shed-in-inhibit",
    title: "an inhibit shed strokes, until the last of its causes ends",
    settings: QUIET,
    inputs: [
      at(1_000),
      inhibit(2_000, true, "tank"),
      inhibit(3_000, true, "flow"),
      inhibit(4_000, false, "tank"),
      inhibit(5_000, false, "pump"),
      inhibit(6_000, false, "flow"),
    ],
    told: ["+shed-in-inhibit 2000", "-shed-in-inhibit 6000"],
  },
  {
    alarm: "shed-in-inhibit",
    title: "also what contacts earn meanwhile",
    settings: QUIET,
    inputs: [inhibit(2_000, true, "permission"), at(3_000), inhibit(4_000, false, "permission")],
    told: ["+shed-in-inhibit 3000", "-shed-in-inhibit 4000"],
  },
  {
    alarm: "tripped",
    title: "the guard saw too much, until reset",
    settings: GUARD,
    inputs: [at(1_000), at(20_000), at(30_000), at(40_000, "reset")],
    told: ["+tripped 20000", "-tripped 40000"],
  },
  {
    alarm: "prime-too-long",
    title: "held past its longest, until it is released",
    settings: { ...QUIET, longestPrimeMicros: 5_000 },
    inputs: [at(1_000, "prime-on"), at(9_000, "prime-off")],
    told: ["+prime-too-long 6000", "-prime-too-long 9000"],
  },
  {
    alarm: "prime-too-long",
    title: "not where it is released just before",
    settings: { ...QUIET, longestPrimeMicros: 5_000 },
    inputs: [at(1_000, "prime-on"), at(5_999, "prime-off")],
    told: [],
  },
  {
    alarm: "change-refused",
    title: "a change needed confirmation, until the next accepted change",
    settings: QUIET,
    inputs: [change(1_000, 9), change(2_000, 8), change(3_000, 2)],
    told: ["+change-refused 1000", "-change-refused 3000"],
  },
  {
    alarm: "change-refused",
    title: "or a confirmed one",
    settings: QUIET,
    inputs: [change(1_000, 9), change(2_000, 9, true)],
    told: ["+change-refused 1000", "-change-refused 2000"],
  },
  {
    alarm: "change-refused",
    title: "or reset",
    settings: QUIET,
    inputs: [change(1_000, 9), at(2_000, "reset")],
    told: ["+change-refused 1000", "-change-refused 2000"],
  },
];

test.each(ROWS)("$alarm: $title", ({ settings, inputs, told: expected }) => {
  const { effects } = run(valid(settings), inputs, 2_000_000);
  expect(told(effects)).toEqual(expected);
});

describe("shed-at-restart", () => {
  const settings = valid({ ...QUIET, strokes: 2 });
  const owing = run(settings, [at(1_000)], 2_000).state;
  const lost = run(settings, [at(1_000), at(2_000, "hold-on"), at(2_000, "hold-off")], 3_000).state;

  test("a power loss shed what was owed, until the next contact", () => {
    const restored = restoreSnapshot(settings, takeSnapshot(owing), 500);
    expect(restored.ok && told(restored.effects)).toEqual(["+shed-at-restart 500"]);
    if (!restored.ok) return;
    const { effects } = run(restored.state, [at(600, "hold-on"), at(700)], 1_000);
    expect(told(effects)).toEqual(["-shed-at-restart 700"]);
  });

  test("not where nothing was owed", () => {
    const restored = restoreSnapshot(settings, takeSnapshot(lost), 500);
    expect(restored.ok && told(restored.effects)).toEqual([]);
  });
});

test("every alarm of the list is in a row", () => {
  const rows = new Set<Alarm>([...ROWS.map(({ alarm }) => alarm), "shed-at-restart"]);
  expect(ALARMS.filter((alarm) => !rows.has(alarm))).toEqual([]);
});
