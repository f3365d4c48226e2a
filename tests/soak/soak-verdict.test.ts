import { expect, test } from "vitest";
import { checkSoak, type Evidence, leastApart } from "../../bench/soak-verdict.js";
import type { JournalStroke } from "../../harness/journal/reading.js";

/** Five contacts at 3:2: seven strokes earned, six made, one shed. */
const SOUND: Evidence = {
  settings: { strokes: 3, contacts: 2, leastSpacingMicros: 100_000 },
  kills: 2,
  register: 5,
  made: [1, 2, 3, 4, 5, 6].map((number) => ({ number, atMicros: number * 100_000 })),
  tallies: {
    counted: 5,
    ignored: 0,
    rejected: 0,
    bounces: 0,
    earned: 7,
    owed: 0,
    remainder: 1,
    paced: 6,
    primed: 0,
    shed: { limit: 0, still: 0, hold: 0, inhibit: 0, trip: 0, power: 1 },
    uncertain: 0,
  },
  strokes: [stroke(1), stroke(2), stroke(3, "unmade"), stroke(3), stroke(4), stroke(5), stroke(6)],
  verdicts: [],
};

function stroke(number: number, outcome: JournalStroke["outcome"] = "made"): JournalStroke {
  return { run: 1, number, cause: "paced", outcome, atMicros: 0, wallMs: 0 };
}

const CONTACTS = "every contact of the register is in the journal, once";
const STROKES = "strokes of the pump are those of the journal, but for the uncertain ones";
const TWICE = "no number was made twice or left out";
const NUMBERS = "the journal's strokes and the pump's bear the same numbers";
const UNCERTAIN = "at most one stroke a kill is uncertain";
const SPACING = "no two strokes of the pump are closer than the least spacing";
const EARNED = "earned is the contacts times the ratio, rounded down";
const BALANCE = "earned = paced + owed + shed";
const LAWS = "the journal's trace breaks no law";

const { tallies, made } = SOUND;

test.each<[string, Partial<Evidence>, readonly string[]]>([
  ["nothing amiss", {}, []],
  ["a contact that the journal never saw", { register: 6 }, [CONTACTS]],
  ["a contact that the journal made up", { register: 4 }, [CONTACTS]],
  [
    "contacts that were ignored or rejected, which are contacts too",
    { register: 8, tallies: { ...tallies, ignored: 1, rejected: 2 } },
    [],
  ],
  ["a stroke that was made twice", { made: [...made, { number: 6, atMicros: 700_000 }] }, [STROKES, TWICE]],
  ["a stroke that only the journal knows", { made: made.slice(0, 5) }, [STROKES, NUMBERS]],
  ["a stroke that only the pump knows", { strokes: SOUND.strokes.slice(0, -1) }, [NUMBERS]],
  ["a stroke that is twice in the journal", { strokes: [...SOUND.strokes, stroke(6)] }, [NUMBERS]],
  [
    "a stroke of which no word ever came",
    { strokes: [...SOUND.strokes.slice(0, -1), stroke(6, "asked")] },
    [NUMBERS],
  ],
  [
    "an uncertain stroke that was not made",
    {
      made: made.slice(0, 5),
      tallies: { ...tallies, uncertain: 1 },
      strokes: [...SOUND.strokes.slice(0, -1), stroke(6, "uncertain")],
    },
    [],
  ],
  ["more uncertain strokes than kills", { tallies: { ...tallies, uncertain: 3 } }, [UNCERTAIN]],
  [
    "two strokes a microsecond too close",
    { made: made.map((one, i) => (i === 5 ? { ...one, atMicros: 599_999 } : one)) },
    [SPACING],
  ],
  ["a stroke earned too many", { tallies: { ...tallies, earned: 8, owed: 1 } }, [EARNED]],
  ["a stroke lost in silence", { tallies: { ...tallies, shed: { ...tallies.shed, power: 0 } } }, [BALANCE]],
  [
    "a law that is broken",
    {
      verdicts: [
        { law: "cap", number: 3, statement: "", answer: "broken", margin: -1, unit: "µs", checked: 1 },
        {
          law: "guard",
          number: 15,
          statement: "",
          answer: "cannot tell",
          margin: null,
          unit: "",
          checked: 0,
        },
      ],
    },
    [LAWS],
  ],
])("%s", (_, change, wrong) => {
  const checks = checkSoak({ ...SOUND, ...change });
  expect(checks.filter(({ fault }) => fault !== "").map(({ what }) => what)).toEqual(wrong);
});

test.each([
  ["no stroke", 0, undefined],
  ["one", 1, undefined],
  ["two", 2, 100_000],
])("the least time between strokes of %s", (_, count, micros) => {
  expect(leastApart(made.slice(0, count))).toBe(micros);
});
