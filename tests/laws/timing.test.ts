/**
 * Is every stroke at a forbidden moment seen, and none at an allowed one? Laws 3, 6, 8 and 11, to the microsecond.
 */
import { describe, expect, test } from "vitest";
import { alarm, at, broken, cannotTell, cut, foundIn, holds, inhibit, type Row, status } from "./kit.js";

const TOLERANT = { toleranceMicros: 5 };

const CAP: readonly Row[] = [
  {
    title: "the first stroke has none before it",
    trace: at("paced", 10),
    verdict: holds("cap", { margin: null, checked: 0 }),
  },
  {
    title: "exactly the least spacing",
    trace: at("paced", 10, 110, 211),
    verdict: holds("cap", { margin: 0, checked: 2 }),
  },
  {
    title: "one microsecond less",
    trace: at("paced", 10, 109, 209),
    verdict: broken(
      "cap",
      { margin: -1, checked: 2 },
      109,
      "a stroke 99 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "a primed stroke and a paced one are two strokes",
    trace: [...at("primed", 10), ...at("paced", 80), ...at("primed", 180)],
    verdict: broken(
      "cap",
      { margin: -30, checked: 2 },
      80,
      "a stroke 70 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "a paced stroke and a primed one are two strokes",
    trace: [...at("paced", 10), ...at("primed", 80)],
    verdict: broken(
      "cap",
      { margin: -30, checked: 1 },
      80,
      "a stroke 70 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "what is not a stroke",
    trace: [...at("paced", 10), ...at("contact", 20), status(30, { paced: 1 }), ...at("paced", 110)],
    verdict: holds("cap", { margin: 0, checked: 1 }),
  },
  {
    title: "a restart counts as a stroke",
    trace: [...cut(10, 20), ...at("paced", 119)],
    verdict: broken(
      "cap",
      { margin: -1, checked: 1 },
      119,
      "a stroke 99 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "at the edge of the tolerance",
    options: TOLERANT,
    trace: at("paced", 10, 105),
    verdict: holds("cap", { margin: 0, checked: 1 }),
  },
  {
    title: "past the tolerance",
    options: TOLERANT,
    trace: at("paced", 10, 104),
    verdict: broken(
      "cap",
      { margin: -1, checked: 1 },
      104,
      "a stroke 94 µs after the last; the least spacing is 100 µs",
    ),
  },
];

function loud(
  title: string,
  before: Row["trace"],
  evidence: string,
  kind: "paced" | "primed" = "paced",
): Row {
  return {
    title,
    trace: [...before, ...at(kind, 50)],
    verdict: broken("silence", { margin: -1, checked: 1 }, 50, evidence),
  };
}

function allowed(title: string, before: Row["trace"]): Row {
  return {
    title,
    trace: [...before, ...at("paced", 50)],
    verdict: holds("silence", { margin: 0, checked: 1 }),
  };
}

const TRIPPED = alarm("alarm-on", 10, "tripped");

const SILENCE: readonly Row[] = [
  allowed("a stroke with nothing against it", []),
  loud("a stroke while held", at("hold-on", 10), "a paced stroke while held"),
  loud("a primed stroke while held", at("hold-on", 10), "a primed stroke while held", "primed"),
  allowed("a stroke after the hold", [...at("hold-on", 10), ...at("hold-off", 20)]),
  ...(["permission", "tank", "pump", "flow", "other"] as const).flatMap((cause) => [
    loud(
      `a stroke while inhibited: ${cause}`,
      [inhibit("inhibit-on", 10, cause)],
      `a paced stroke while inhibited (${cause})`,
    ),
    allowed(`a stroke after the inhibit: ${cause}`, [
      inhibit("inhibit-on", 10, cause),
      inhibit("inhibit-off", 20, cause),
    ]),
  ]),
  loud(
    "a stroke while one inhibit of two is left",
    [
      inhibit("inhibit-on", 10, "tank"),
      inhibit("inhibit-on", 20, "flow"),
      inhibit("inhibit-off", 30, "tank"),
    ],
    "a paced stroke while inhibited (flow)",
  ),
  allowed("an inhibit told twice ends once", [
    inhibit("inhibit-on", 10, "tank"),
    inhibit("inhibit-on", 20, "tank"),
    inhibit("inhibit-off", 30, "tank"),
  ]),
  loud("a stroke while tripped", [TRIPPED], "a paced stroke while tripped"),
  loud(
    "a stroke after the trip's alarm went off by itself",
    [TRIPPED, alarm("alarm-off", 20, "tripped")],
    "a paced stroke while tripped",
  ),
  allowed("a stroke after the reset", [TRIPPED, ...at("reset", 20)]),
  allowed("another alarm stops nothing", [alarm("alarm-on", 10, "too-fast")]),
  loud("a stroke in the dark", at("power-off", 10), "a paced stroke while without power"),
  allowed("a stroke after the power is back", cut(10, 20)),
  loud(
    "a stroke against every reason",
    [
      inhibit("inhibit-on", 10, "tank"),
      inhibit("inhibit-on", 10, "flow"),
      ...at("hold-on", 10),
      TRIPPED,
      ...at("power-off", 20),
    ],
    "a paced stroke while inhibited (tank) and inhibited (flow) and held and tripped and without power",
  ),
  {
    title: "what is not a stroke",
    trace: [...at("hold-on", 10), status(20)],
    verdict: holds("silence", { margin: null, checked: 0 }),
  },
];

const STILL_WATER: readonly Row[] = [
  {
    title: "exactly the grace after the last contact",
    trace: [...at("contact", 10, 20), ...at("paced", 120, 1_020)],
    verdict: holds("still-water", { margin: 0, checked: 2 }),
  },
  {
    title: "one microsecond later",
    trace: [...at("contact", 10, 20), ...at("paced", 120, 1_021)],
    verdict: broken(
      "still-water",
      { margin: -1, checked: 2 },
      1_021,
      "a paced stroke 1001 µs after the last contact",
    ),
  },
  {
    title: "at the edge of the tolerance",
    options: TOLERANT,
    trace: [...at("contact", 20), ...at("paced", 1_025)],
    verdict: holds("still-water", { margin: 0, checked: 1 }),
  },
  {
    title: "past the tolerance",
    options: TOLERANT,
    trace: [...at("contact", 20), ...at("paced", 1_026)],
    verdict: broken(
      "still-water",
      { margin: -1, checked: 1 },
      1_026,
      "a paced stroke 1006 µs after the last contact",
    ),
  },
  {
    title: "a primed stroke may come into still water",
    trace: [...at("contact", 20), ...at("primed", 5_000)],
    verdict: holds("still-water", { margin: null, checked: 0 }),
  },
  {
    title: "before any contact the water stands still",
    trace: at("paced", 10),
    verdict: broken(
      "still-water",
      { margin: null, checked: 1 },
      10,
      "a paced stroke and no contact before it",
    ),
  },
];

const LATE = { driven: "late" } as const;

const LATENESS: readonly Row[] = [
  {
    title: "no wake-up came late",
    trace: [...at("paced", 10, 20), status(30, { earned: 9 })],
    verdict: cannotTell("lateness", { margin: null, checked: 0 }, "no wake-up came late"),
  },
  {
    title: "strokes exactly the least spacing apart and accounts that agree",
    options: LATE,
    trace: [...at("contact", 10), ...at("paced", 10, 110), status(120, { earned: 2, paced: 2 })],
    verdict: holds("lateness", { margin: 0, checked: 3 }),
  },
  {
    title: "two strokes at once, to catch up",
    options: LATE,
    trace: [...at("paced", 10), ...at("primed", 109)],
    verdict: broken(
      "lateness",
      { margin: -1, checked: 2 },
      109,
      "a stroke 99 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "at the edge of the tolerance",
    options: { ...LATE, ...TOLERANT },
    trace: at("paced", 10, 105),
    verdict: holds("lateness", { margin: 0, checked: 2 }),
  },
  {
    title: "past the tolerance",
    options: { ...LATE, ...TOLERANT },
    trace: at("paced", 10, 104),
    verdict: broken(
      "lateness",
      { margin: -1, checked: 2 },
      104,
      "a stroke 94 µs after the last; the least spacing is 100 µs",
    ),
  },
  {
    title: "a stroke lost in silence",
    options: LATE,
    trace: [...at("paced", 10, 110), status(120, { earned: 5, paced: 2, owed: 1 })],
    verdict: broken("lateness", { margin: null, checked: 3 }, 120, "2 strokes unaccounted for"),
  },
  {
    title: "what is neither a stroke nor an account",
    options: LATE,
    trace: [...at("paced", 10), ...at("contact", 20), ...at("wake", 30)],
    verdict: holds("lateness", { margin: null, checked: 1 }),
  },
];

describe.each([
  { law: "cap", rows: CAP },
  { law: "silence", rows: SILENCE },
  { law: "still-water", rows: STILL_WATER },
  { law: "lateness", rows: LATENESS },
])("$law", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
