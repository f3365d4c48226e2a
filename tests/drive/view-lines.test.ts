import fc from "fast-check";
import stringWidth from "string-width";
import { describe, expect, test } from "vitest";
import type { DriveStatus } from "../../harness/drive/status.js";
import { viewLines } from "../../harness/drive/view-lines.js";
import { ALARM_WORDS } from "../../harness/report/words.js";
import { ALARMS } from "../../lib/pacing/index.js";
import { runs } from "../support/runs.js";
import { anyStatus, CALM, TROUBLE } from "./view-status.js";

function textAt(status: DriveStatus, columns: number, rows: number, isLeaving = false): string[] {
  return viewLines(status, { columns, rows }, isLeaving).map(({ text }) => text.trimEnd());
}

/** The window as one line of words, as a person reads it. */
function wordsAt(status: DriveStatus, columns: number, rows: number): string {
  return textAt(status, columns, rows).join(" ").replace(/\s+/g, " ");
}

const WORST: DriveStatus = {
  ...CALM,
  held: true,
  tripped: true,
  inhibits: ["tank", "flow"],
  shed: { limit: 3, still: 1, hold: 2, inhibit: 5, trip: 0, power: 1 },
  uncertain: 1,
  alarms: ALARMS,
  troubles: [TROUBLE, { ...TROUBLE, kind: "suspended", atMicros: 120_000_000, words: "The machine slept." }],
};

test("whatever the feed and the window, every row is filled, none is too wide, and nothing moves the cursor", () => {
  fc.assert(
    fc.property(
      anyStatus,
      fc.integer({ min: 1, max: 120 }),
      fc.integer({ min: 1, max: 50 }),
      fc.boolean(),
      (status, columns, rows, isLeaving) => {
        const lines = viewLines(status, { columns, rows }, isLeaving);
        expect(lines).toHaveLength(rows);
        expect(lines.filter(({ text }) => stringWidth(text) > columns)).toEqual([]);
        expect(lines.filter(({ text }) => /\p{Cc}/u.test(text))).toEqual([]);
        expect([lines[0]?.text, lines.at(-1)?.text]).not.toContain("");
      },
    ),
    { numRuns: runs(300) },
  );
});

test.each([2, 5, 17, 24, 38, 53, 60])(
  "in %d columns a line that is cut is no wider than the window",
  (columns) => {
    const widths = viewLines(WORST, { columns, rows: 10 }, false).map(({ text }) => stringWidth(text));
    expect(widths.filter((width) => width < 1 || width > columns)).toEqual([]);
  },
);

test("at 80 by 24 everything is told, a section apart from the next", () => {
  expect(textAt(CALM, 80, 24)).toEqual([
    "Tallystroke drive, ratio 3:2, running 00:12:34",
    "Feeding",
    "",
    "Contacts  1,234 (5 ignored, 6 rejected)",
    "Owed      1 stroke and 1/2 of one",
    "Strokes   1,842 paced, 12 primed",
    "Rate      58/min, cap 120 [#####-----]",
    "Dose      1.18 mg/L so far, 1.2 planned (1.7 % below)",
    "Shed      none",
    "Earned    1,843 strokes",
    "Water     1234.5 L (326.12 gal); solution 629.3 mL (21.279 fl oz); reckoned, not",
    "          measured",
    "",
    "Meter     serial:/dev/ttyUSB0, well meter",
    "Pump      serial:/dev/ttyUSB1, well pump",
    "Journal   feed-journal",
    "",
    "No alarm, no trouble",
    ...["", ""],
    "Hypochlorite burns, and makes poisonous gas with acid or ammonia. Local codes,",
    "the labels and a licensed operator decide",
    "Prime runs while p is held down, and ends by itself once it is let go",
    "p prime  h hold  r reset  q quit",
  ]);
});

test.each([
  ["held", { held: true }],
  ["tripped", { tripped: true }],
  ["inhibited", { inhibits: ["tank"] as const }],
])("%s: it says that there is no prime, and does not invite to it", (_, stop) => {
  const text = textAt({ ...CALM, ...stop }, 80, 24).join("\n");
  expect(text).toContain("No prime while strokes are stopped");
  expect(text).not.toContain("Prime runs");
});

test("in 40 columns and 10 rows the counts and the keys stand, each in its line", () => {
  expect(textAt(CALM, 40, 10)).toEqual([
    "Feeding",
    "Contacts  1,234 (5 ignored, 6 rejected)",
    "Owed      1 stroke and 1/2 of one",
    "Strokes   1,842 paced, 12 primed",
    "Rate      58/min, cap 120 [#####-----]",
    "Dose      1.18 mg/L so far, 1.2 planned",
    "          (1.7 % below)",
    "Shed      none",
    "No alarm, no trouble",
    "p prime  h hold  r reset  q quit",
  ]);
});

test("with everything wrong in 40 by 10, the counts stay and the number of warnings that are not shown is told", () => {
  expect(textAt(WORST, 40, 10)).toEqual([
    "No strokes. TRIPPED until reset; HELD…",
    "Contacts  1,234 (5 ignored, 6 rejected)",
    "Owed      1 stroke and 1/2 of one",
    "Strokes   1,842 paced, 12 primed, 1…",
    "Rate      58/min, cap 120 [#####-----]",
    "Dose      1.18 mg/L so far, 1.2 planned…",
    "Shed      3 at the owed limit, 1 in…",
    "ALARM the contact stayed closed too…",
    "and 12 more",
    "p prime  g go on  r reset trip  q quit",
  ]);
});

test.each([
  ["five rows", 5, ["Contacts", "Owed", "13 alarms and troubles: ALARM the"]],
  ["three rows", 3, ["13 alarms and troubles: ALARM the"]],
  ["two rows", 2, []],
])(
  "%s: how it stands first, the keys last, and between them as much as there is room for",
  (_, rows, middle) => {
    const lines = textAt(WORST, 40, rows);
    expect(lines[0]).toMatch(/^No strokes/);
    expect(lines.at(-1)).toMatch(/^p prime/);
    expect(lines.slice(1, -1).map((line, i) => line.startsWith(middle[i] ?? "-"))).toEqual(
      middle.map(() => true),
    );
  },
);

describe("one sentence says whether strokes are made, and what ends it if not", () => {
  test.each<[string, Partial<DriveStatus>, string]>([
    ["something owed", {}, "Feeding"],
    ["nothing owed", { owed: 0 }, "Ready: nothing is owed"],
    ["priming", { priming: true }, "PRIMING: it ends by itself once p is let go"],
    ["held", { held: true }, "No strokes. HELD until it goes on"],
    ["held while priming", { held: true, priming: true }, "No strokes. HELD until it goes on"],
    ["tripped", { tripped: true }, "No strokes. TRIPPED until reset"],
    [
      "two inhibits",
      { inhibits: ["permission", "tank"] },
      "No strokes. FORBIDDEN: no permission, tank empty",
    ],
    ["the meter lost", { meter: { ...CALM.meter, isLost: true } }, "No strokes. METER LOST"],
    ["the pump lost", { pump: { ...CALM.pump, isLost: true } }, "No strokes. PUMP LOST"],
    ["two at once", { held: true, tripped: true }, "No strokes. TRIPPED until reset; HELD until it goes on"],
  ])("%s", (_, change, sentence) => {
    expect(textAt({ ...CALM, ...change }, 80, 24)[1]).toBe(sentence);
  });
});

test.each(ALARMS)("alarm %s is told in all its words where there is room", (alarm) => {
  expect(wordsAt({ ...CALM, alarms: [alarm] }, 80, 24)).toContain(`ALARM ${ALARM_WORDS[alarm]}`);
  expect(wordsAt({ ...CALM, alarms: [alarm] }, 40, 24)).toContain(`ALARM ${ALARM_WORDS[alarm]}`);
});

test("troubles come after alarms, the newest first, each with its time", () => {
  const words = wordsAt(WORST, 80, 60);
  const places = [
    "ALARM a change",
    "TROUBLE at 00:02:00: The machine slept.",
    `TROUBLE at 00:01:39: ${TROUBLE.words}`,
  ];
  expect(places.map((part) => words.indexOf(part)).filter((at) => at < 0)).toEqual([]);
  expect(places).toEqual([...places].sort((a, b) => words.indexOf(a) - words.indexOf(b)));
});

test("strokes that were shed are told by cause, and those that are uncertain", () => {
  const words = wordsAt(WORST, 80, 24);
  expect(words).toContain(
    "Shed 3 at the owed limit, 1 in still water, 2 by a hold, 5 by an interlock, 1 by a power loss",
  );
  expect(words).toContain("12 primed, 1 uncertain");
});

test.each<[string, Partial<DriveStatus>, string]>([
  ["without a plan", { dose: undefined as never }, "Dose not known without a plan"],
  [
    "before the first contact",
    { dose: { litres: 0, millilitres: 0, milligramsPerLitre: undefined, wantedMilligramsPerLitre: 1.2 } },
    "Dose no water yet; 1.2 planned (mg/L)",
  ],
  [
    "as planned",
    { dose: { litres: 1, millilitres: 1, milligramsPerLitre: 1.2, wantedMilligramsPerLitre: 1.2 } },
    "1.2 planned (as planned)",
  ],
  [
    "above the plan",
    { dose: { litres: 1, millilitres: 1, milligramsPerLitre: 2.4, wantedMilligramsPerLitre: 1.2 } },
    "1.2 planned (100 % above)",
  ],
])("dose %s", (_, change, text) => {
  const { dose, ...rest } = { ...CALM, ...change };
  expect(wordsAt(dose === undefined ? rest : { ...rest, dose }, 80, 24)).toContain(text);
});

test.each([
  ["no stroke", 0, "[----------]"],
  ["at the cap", 120, "[##########]"],
  ["over it", 121, "[##########]"],
])("the bar of the rate, %s", (_, strokesPerMinute, bar) => {
  expect(wordsAt({ ...CALM, strokesPerMinute }, 80, 24)).toContain(bar);
});

test("an end that is lost is told by name even in a short window", () => {
  const words = wordsAt({ ...CALM, pump: { ...CALM.pump, isLost: true } }, 80, 11);
  expect(words).toContain("Pump LOST: serial:/dev/ttyUSB1, well pump");
});

test("a name that holds control sequences draws nothing but its letters", () => {
  const name = "\u001B[2J\u001B]0;owned\u0007pu\nmp\u202Eabc";
  expect(wordsAt({ ...CALM, pump: { ...CALM.pump, name } }, 80, 24)).toContain("pu?mp?abc");
});

test("a cluster of signs that is wider than the window is left out", () => {
  const name = "\u{1D158}\u{1D165}\u{1D16E}";
  const lines = viewLines(
    { ...CALM, pump: { spec: name, name, isLost: true } },
    { columns: 2, rows: 200 },
    false,
  );
  expect(lines.filter(({ text }) => stringWidth(text) > 2)).toEqual([]);
  expect(lines.map(({ text }) => text).join("")).toContain("LO");
});

test("the question before the end names its one key for yes, at every width", () => {
  for (const columns of [80, 40, 20]) {
    const lines = textAt(CALM, columns, 24, true);
    expect(lines.join(" ")).toContain("End the feed? y yes");
    expect(lines.join(" ")).not.toContain("q quit");
  }
  expect(textAt(CALM, 40, 10, true).at(-1)).toMatch(/^End the feed\? y yes/);
});
