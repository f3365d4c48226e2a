/**
 * Are invented contacts and impossible answers seen? Laws 13 and 14, to the boundary.
 */
import { describe, expect, test } from "vitest";
import {
  at,
  broken,
  cannotTell,
  change,
  counted,
  fault,
  foundIn,
  holds,
  type Row,
  settings,
  status,
  uncounted,
} from "./kit.js";

// A closure counts after 30 µs closed, a new one after 20 µs open.
const BOUNCE: readonly Row[] = [
  {
    title: "no raw edges",
    trace: [...at("contact", 10), counted(10, 1)],
    verdict: cannotTell("bounce", { margin: null, checked: 1 }, "no raw edges were given"),
  },
  {
    title: "an invented contact, even with no raw edges",
    trace: [...at("contact", 10), counted(10, 1), counted(11, 1)],
    verdict: broken("bounce", { margin: null, checked: 2 }, 11, "2 contacts told of 1 that came"),
  },
  {
    title: "a closure without bounce has no bounce to measure",
    trace: [...at("close", 10), counted(40, 1), ...at("open", 60)],
    verdict: holds("bounce", { margin: null, checked: 1 }),
  },
  {
    title: "a closure one microsecond too short to count, then one that counts",
    trace: [...at("close", 10), ...at("open", 39), ...at("close", 45), counted(75, 1)],
    verdict: holds("bounce", { margin: 1, checked: 1 }),
  },
  {
    title: "an opening one microsecond too short to tell two closures apart",
    trace: [...at("close", 10), counted(40, 1), ...at("open", 50), ...at("close", 69), counted(99, 1)],
    verdict: broken("bounce", { margin: null, checked: 2 }, 99, "2 contacts told of 1 that came"),
  },
  {
    title: "an opening just long enough",
    trace: [...at("close", 10), counted(40, 1), ...at("open", 50), ...at("close", 70), counted(100, 1)],
    verdict: holds("bounce", { margin: null, checked: 2 }),
  },
  {
    title: "the nearest bounce of several",
    trace: [
      ...at("close", 10),
      ...at("open", 15),
      ...at("close", 30),
      counted(60, 1),
      ...at("open", 61),
      ...at("close", 71),
      counted(62, 0, 0),
    ],
    verdict: holds("bounce", { margin: 5, checked: 2 }),
  },
  {
    title: "a contact told before its closure has stayed closed",
    trace: [...at("close", 10), counted(39, 1)],
    verdict: broken("bounce", { margin: null, checked: 1 }, 39, "1 contacts told of 0 that came"),
  },
  {
    title: "an invented contact leaves no margin, however well bounce was kept before",
    trace: [...at("close", 10), ...at("open", 39), ...at("close", 45), counted(75, 1), counted(80, 1)],
    verdict: broken("bounce", { margin: null, checked: 2 }, 80, "2 contacts told of 1 that came"),
  },
  {
    title: "neither does a lost one",
    trace: [
      ...at("close", 10),
      ...at("open", 39),
      ...at("close", 45),
      counted(75, 1),
      ...at("open", 100),
      ...at("close", 130),
      ...at("open", 170),
    ],
    verdict: broken("bounce", { margin: null, checked: 2 }, 130, "1 contacts were never told of"),
  },
  {
    title: "contacts ignored and rejected are told of too",
    settings: settings({ leastContactMicros: 200 }),
    trace: [
      ...at("close", 10),
      counted(40, 1),
      ...at("open", 50),
      ...at("close", 80),
      uncounted("rejected", 110),
      ...at("open", 120),
      ...at("hold-on", 130),
      ...at("close", 300),
      uncounted("ignored", 330),
      ...at("open", 340),
    ],
    verdict: holds("bounce", { margin: null, checked: 3 }),
  },
  {
    title: "a contact ignored that never came",
    trace: [...at("close", 10), uncounted("ignored", 39)],
    verdict: broken("bounce", { margin: null, checked: 1 }, 39, "1 contacts told of 0 that came"),
  },
  {
    title: "two rejected of one that came",
    trace: [...at("close", 10), uncounted("rejected", 40, 2)],
    verdict: broken("bounce", { margin: null, checked: 1 }, 40, "2 contacts told of 1 that came"),
  },
  {
    title: "contacts never told of are lost from when the first was",
    trace: [
      ...at("close", 10),
      counted(40, 1),
      ...at("open", 50),
      ...at("close", 80),
      ...at("open", 120),
      ...at("close", 150),
      ...at("open", 190),
    ],
    verdict: broken("bounce", { margin: null, checked: 2 }, 80, "2 contacts were never told of"),
  },
  {
    title: "ignored and rejected contacts that are never told of are lost too",
    settings: settings({ leastContactMicros: 200 }),
    trace: [
      ...at("contact", 10, 20),
      ...at("hold-on", 30),
      ...at("contact", 300),
      counted(300, 1),
      ...at("close", 400),
    ],
    verdict: broken("bounce", { margin: null, checked: 2 }, 10, "2 contacts were never told of"),
  },
];

const THIRD = settings({ contacts: 3 });

function nonsense(title: string, answer: Row["trace"][number], evidence: string): Row {
  return {
    title,
    settings: THIRD,
    trace: [status(5), answer],
    verdict: broken("totality", { margin: -1, checked: 2 }, answer.atMicros, evidence),
  };
}

const TOTALITY: readonly Row[] = [
  {
    title: "answers at the same moment as the last, the largest remainder",
    settings: THIRD,
    trace: [...at("contact", 5), counted(5, 0), status(5, { remainder: 2 }), ...at("paced", 6)],
    verdict: holds("totality", { margin: 0, checked: 3 }),
  },
  nonsense("a remainder of a whole stroke", status(6, { remainder: 3 }), "remainder 3 of 3"),
  ...(["earned", "paced", "primed", "owed", "shed", "remainder"] as const).flatMap((name) => [
    nonsense(`${name} not a number`, status(6, { [name]: NaN }), "an account of NaN"),
    nonsense(`${name} not whole`, status(6, { [name]: 0.5 }), "an account of 0.5"),
    nonsense(`${name} below nothing`, status(6, { [name]: -1 }), "an account of -1"),
  ]),
  nonsense("a contact of no number", counted(6, 0, NaN), "an account of NaN"),
  nonsense("a part of a stroke earned", counted(6, 0.5), "an account of 0.5"),
  nonsense("a part of a contact ignored", uncounted("ignored", 6, 0.5), "an account of 0.5"),
  nonsense("a contact rejected and taken back", uncounted("rejected", 6, -1), "an account of -1"),
  nonsense(
    "a shedding taken back",
    { kind: "shed", atMicros: 6, cause: "hold", strokes: -1 },
    "an account of -1",
  ),
  nonsense("a time before the last", status(4), "time 4 after 5"),
  nonsense("a time that is not whole", { kind: "paced", atMicros: 5.5 }, "time 5.5 after 5"),
  nonsense("a time that is not a number", { kind: "paced", atMicros: NaN }, "time NaN after 5"),
  nonsense("a device that failed", fault(6, "no reply"), "the device failed: no reply"),
  nonsense("a device that failed without a word", fault(6, ""), "the device failed: "),
  {
    title: "a time before the last input",
    trace: [...at("contact", 10), ...at("paced", 9)],
    verdict: broken("totality", { margin: -1, checked: 1 }, 9, "time 9 after 10"),
  },
  {
    title: "an input is no answer, whatever it is",
    trace: at("contact", 10, 9, NaN),
    verdict: holds("totality", { margin: null, checked: 0 }),
  },
  {
    title: "a remainder is judged by the ratio in force",
    settings: THIRD,
    trace: [change(5, settings({ strokes: 1, contacts: 2 })), status(6, { remainder: 2 })],
    verdict: broken("totality", { margin: -1, checked: 1 }, 6, "remainder 2 of 2"),
  },
];

describe.each([
  { law: "bounce", rows: BOUNCE },
  { law: "totality", rows: TOTALITY },
])("$law", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
