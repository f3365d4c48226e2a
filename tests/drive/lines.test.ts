/**
 * What plain lines tell people, and JSON lines machines.
 */
import { describe, expect, test } from "vitest";
import { jsonLines, plainLines } from "../../harness/drive/lines.js";
import { statusOf } from "../../harness/drive/stand.js";
import type { DriveStatus } from "../../harness/drive/status.js";
import { newState, SECOND } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

const AT = 83 * SECOND;

function status(changes: Partial<DriveStatus> = {}): DriveStatus {
  const settings = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 500_000 });
  const standing = {
    elapsedMicros: AT,
    meter: { spec: "mock", name: "invented meter", isLost: false },
    pump: { spec: "mock", name: "invented pump", isLost: false },
    journal: "J",
    uncertain: 0,
    troubles: [],
    strokeMicros: [AT - 61 * SECOND, AT - 59 * SECOND, AT],
    nowMicros: AT,
    dose: undefined,
  };
  return { ...statusOf(newState(settings), standing), ...changes };
}

describe("a status", () => {
  test("counts the strokes of the last minute against what the cap allows in one", () => {
    expect(status()).toMatchObject({ strokesPerMinute: 2, capPerMinute: 120, ratio: "3:2", remainderOf: 2 });
  });

  test("works out the dose from contacts that passed, ignored ones too, and from strokes of either cause", () => {
    const s = {
      ...newState(sound({ strokes: 1, contacts: 1, leastSpacingMicros: 1 })),
      counted: 8,
      ignored: 2,
      paced: 3,
      primed: 1,
    };
    const dose = {
      litresPerContact: 10,
      millilitresPerStroke: 2,
      gramsPerLitre: 50,
      wantedMilligramsPerLitre: 1.2,
    };
    const { elapsedMicros, meter, pump } = status();
    const standing = {
      elapsedMicros,
      meter,
      pump,
      journal: "J",
      uncertain: 0,
      troubles: [],
      strokeMicros: [],
      nowMicros: AT,
      dose,
    };
    // 100 L and 8 mL of 50 mg/mL: 400 mg in 100 L.
    expect(statusOf(s, standing).dose).toEqual({
      litres: 100,
      millilitres: 8,
      milligramsPerLitre: 4,
      wantedMilligramsPerLitre: 1.2,
    });
    expect(statusOf({ ...s, counted: 0, ignored: 0 }, standing).dose?.milligramsPerLitre).toBe(undefined);
  });
});

describe("plain lines", () => {
  test.each<[TraceEvent, string]>([
    [
      { kind: "alarm-on", atMicros: 0, alarm: "still-water" },
      "00:01:23  Alarm: still-water: owed strokes were shed, since flow had stopped.\n",
    ],
    [{ kind: "alarm-off", atMicros: 0, alarm: "still-water" }, "00:01:23  Alarm over: still-water.\n"],
    [
      { kind: "shed", atMicros: 0, cause: "hold", strokes: 2 },
      "00:01:23  2 strokes shed (hold): the operator held the feed.\n",
    ],
    [{ kind: "shed", atMicros: 0, cause: "limit", strokes: 2 }, ""],
    [{ kind: "hold-on", atMicros: 0 }, "00:01:23  Hold: pacing is paused, contacts are ignored.\n"],
    [{ kind: "contact", atMicros: 0 }, ""],
    [{ kind: "paced", atMicros: 0 }, ""],
  ])("tell of %o what matters", (event, line) => {
    expect(plainLines.event(event, AT)).toBe(line);
  });

  test("sum up what was counted, and what stands", () => {
    const standing = status({
      contacts: 1_234,
      ignored: 2,
      paced: 1_850,
      primed: 3,
      uncertain: 1,
      owed: 1,
      held: true,
      alarms: ["silent"],
    });
    expect(plainLines.summary(standing)).toBe(
      "00:01:23  1,234 contacts and 2 ignored, 1,850 strokes and 3 primed, 1 of them uncertain, 1 owed, 0 shed, " +
        "2 in the last minute; held, alarm silent.\n",
    );
  });

  test("begin with the cautions, and end with why", () => {
    expect(plainLines.start(status(), ["Mind it."])).toMatch(
      /^Caution: Mind it\.\n00:01:23 {2}Feed begins: 3:2, at most 120/,
    );
    expect(plainLines.end(status(), { kind: "asked", why: "a signal" })).toMatch(
      /Feed ends \(a signal\)\.\n$/,
    );
    expect(plainLines.end(status(), { kind: "pump-lost", why: "gone" })).toMatch(
      /Feed ends, it failed \(see above\)\.\n$/,
    );
  });
});

test("JSON lines are one object each, with every event as the trace format names it", () => {
  const text = [
    jsonLines.start(status(), ["Mind it."]),
    jsonLines.event({ kind: "counted", atMicros: 1_500_000, contacts: 1, earned: 2 }, AT),
    jsonLines.trouble({ kind: "stalled", atMicros: 5, words: "It was." }),
    jsonLines.summary(status()),
    jsonLines.end(status(), { kind: "asked", why: "a signal" }),
  ].join("");
  const lines = text
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as { readonly kind: string });
  expect(lines.map(({ kind }) => kind)).toEqual(["start", "event", "trouble", "status", "end"]);
  expect(lines[1]).toEqual({
    kind: "event",
    time_s: "1.500000",
    event: "counted",
    detail: "contacts=1 earned=2",
  });
  expect(lines[4]).toMatchObject({ end: { kind: "asked", why: "a signal" }, status: { ratio: "3:2" } });
});
