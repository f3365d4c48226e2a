/**
 * Is every lost, doubled or drifting part of a stroke seen, and nothing else? Law 1, where contacts are told of.
 */
import { describe, expect, test } from "vitest";
import type { TraceEvent } from "../../lib/trace/index.js";
import { at, broken, change, counted, foundIn, holds, type Row, settings, status, uncounted } from "./kit.js";

const THIRD = settings({ strokes: 1, contacts: 3 });
const KNOWN = { startRemainder: 0 };

/** A contact every 10 µs, each told with the strokes that it earned. */
function earning(...strokes: number[]): TraceEvent[] {
  return strokes.flatMap((earned, i) => [...at("contact", 10 * (i + 1)), counted(10 * (i + 1), earned)]);
}

const TOLD: readonly Row[] = [
  {
    title: "no contact leaves nothing to look at",
    trace: at("wake", 10),
    verdict: holds("proportion", { margin: null, checked: 0 }),
  },
  {
    title: "the largest remainder leaves one part of a stroke",
    settings: THIRD,
    options: KNOWN,
    trace: earning(0, 0, 1),
    verdict: holds("proportion", { margin: 1 / 3, checked: 3 }),
  },
  {
    title: "a start just before a whole stroke earns at the first contact",
    settings: THIRD,
    options: { startRemainder: 2 },
    trace: earning(1, 0, 0, 1),
    verdict: holds("proportion", { margin: 1 / 3, checked: 4 }),
  },
  {
    title: "a whole stroke withheld is one too many",
    settings: THIRD,
    options: KNOWN,
    trace: earning(0, 0, 0),
    verdict: broken(
      "proportion",
      { margin: 0, checked: 3 },
      30,
      "0 strokes for 1 contacts at 1:3 leave 3/3 of a stroke",
    ),
  },
  {
    title: "a start that is known to be high makes the same delay one too many sooner",
    settings: THIRD,
    options: { startRemainder: 2 },
    trace: earning(0),
    verdict: broken(
      "proportion",
      { margin: 0, checked: 1 },
      10,
      "0 strokes for 1 contacts at 1:3 leave 3/3 of a stroke",
    ),
  },
  {
    title: "a stroke one part too early is seen where the start is known",
    settings: THIRD,
    options: KNOWN,
    trace: earning(0, 1),
    verdict: broken(
      "proportion",
      { margin: -1 / 3, checked: 2 },
      20,
      "1 strokes for 1 contacts at 1:3 leave -1/3 of a stroke",
    ),
  },
  {
    title: "an early stroke may be right where the start is not known",
    settings: THIRD,
    trace: earning(1, 0, 0, 1),
    verdict: holds("proportion", { margin: 1 / 3, checked: 4 }),
  },
  {
    title: "a band as wide as a stroke is too wide, above",
    settings: THIRD,
    trace: earning(0, 0, 0),
    verdict: broken(
      "proportion",
      { margin: 0, checked: 3 },
      30,
      "0 strokes for 1 contacts at 1:3 leave 3/3 of a stroke",
    ),
  },
  {
    title: "a band wider than a stroke is too wide, below",
    settings: THIRD,
    trace: earning(1, 1),
    verdict: broken(
      "proportion",
      { margin: -1 / 3, checked: 2 },
      20,
      "1 strokes for 1 contacts at 1:3 leave -4/3 of a stroke",
    ),
  },
  {
    title: "a band remembers its top",
    settings: THIRD,
    trace: earning(0, 0, 1, 1),
    verdict: broken(
      "proportion",
      { margin: -1 / 3, checked: 4 },
      40,
      "1 strokes for 1 contacts at 1:3 leave -2/3 of a stroke",
    ),
  },
  {
    title: "slow drift is seen once it has gathered a stroke",
    settings: THIRD,
    trace: earning(0, 0, 1, 0, 0, 1, 0, 0, 0),
    verdict: broken(
      "proportion",
      { margin: 0, checked: 9 },
      90,
      "0 strokes for 1 contacts at 1:3 leave 3/3 of a stroke",
    ),
  },
  {
    title: "several contacts may be told at once",
    settings: settings({ strokes: 2, contacts: 3 }),
    options: KNOWN,
    trace: [...at("contact", 10, 20, 30, 40), counted(40, 2, 4)],
    verdict: holds("proportion", { margin: 1 / 3, checked: 1 }),
  },
];

const CHANGED: readonly Row[] = [
  {
    title: "the remainder goes over rounded down",
    settings: THIRD,
    options: KNOWN,
    trace: [
      ...earning(0),
      change(12, settings({ strokes: 1, contacts: 2 })),
      ...at("contact", 20),
      counted(20, 0),
      ...at("contact", 30),
      counted(30, 1),
    ],
    verdict: holds("proportion", { margin: 1 / 2, checked: 3 }),
  },
  {
    title: "a remainder rounded up is seen",
    settings: THIRD,
    options: KNOWN,
    trace: [
      ...earning(0),
      change(12, settings({ strokes: 1, contacts: 2 })),
      ...at("contact", 20),
      counted(20, 1),
    ],
    verdict: broken(
      "proportion",
      { margin: -1 / 2, checked: 2 },
      20,
      "1 strokes for 1 contacts at 1:2 leave -1/2 of a stroke",
    ),
  },
  {
    title: "where the start is not known, more strokes begin a new band",
    settings: THIRD,
    trace: [
      ...earning(0, 0),
      change(22, settings({ strokes: 2, contacts: 3 })),
      ...at("contact", 30),
      counted(30, 0),
    ],
    verdict: holds("proportion", { margin: 1 / 3, checked: 3 }),
  },
  {
    title: "where the start is not known, fewer contacts begin a new band",
    settings: THIRD,
    trace: [
      ...earning(0, 0),
      change(22, settings({ strokes: 1, contacts: 2 })),
      ...at("contact", 30),
      counted(30, 0),
    ],
    verdict: holds("proportion", { margin: 1 / 3, checked: 3 }),
  },
  {
    title: "a change of anything else goes on with the band",
    settings: THIRD,
    trace: [
      ...earning(0, 0),
      change(22, settings({ strokes: 1, contacts: 3, leastSpacingMicros: 200 })),
      ...at("contact", 30),
      counted(30, 0),
    ],
    verdict: broken(
      "proportion",
      { margin: 0, checked: 3 },
      30,
      "0 strokes for 1 contacts at 1:3 leave 3/3 of a stroke",
    ),
  },
];

const CONTACTS: readonly Row[] = [
  {
    title: "a contact that is never counted is lost from when it came",
    trace: [...earning(1), ...at("contact", 20), status(21), ...at("contact", 30), counted(30, 1)],
    verdict: broken("proportion", { margin: -1, checked: 3 }, 20, "1 contacts were never counted"),
  },
  {
    title: "two contacts that are never counted are two",
    trace: [...earning(1), ...at("contact", 20, 30)],
    verdict: broken("proportion", { margin: -2, checked: 2 }, 20, "2 contacts were never counted"),
  },
  {
    title: "a contact that nobody made is invented",
    trace: [...at("contact", 10), counted(10, 2, 2)],
    verdict: broken("proportion", { margin: -1, checked: 1 }, 10, "2 contacts counted of 1 that came"),
  },
  {
    title: "with raw edges, invented contacts are not its business",
    trace: [...at("close", 10), counted(40, 1), counted(50, 1)],
    verdict: holds("proportion", { margin: 1, checked: 2 }),
  },
  {
    title: "with raw edges, lost contacts are not its business",
    trace: [...at("close", 10), counted(40, 1), ...at("open", 50), ...at("close", 80), ...at("open", 120)],
    verdict: holds("proportion", { margin: 1, checked: 1 }),
  },
  ...(["ignored", "rejected"] as const).map((kind) => ({
    title: `with raw edges, a contact that earns told as ${kind}`,
    trace: [...at("close", 10), uncounted(kind, 40)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      40,
      `1 contacts told as ${kind}, of which 1 were not`,
    ),
  })),
  {
    title: "with raw edges, a contact that is to be ignored told as earning",
    trace: [...at("hold-on", 5), ...at("close", 10), counted(40, 1)],
    verdict: broken("proportion", { margin: -1, checked: 1 }, 40, "1 contacts counted of 0 that came"),
  },
  {
    title: "contacts that are to be ignored, told as that",
    trace: [...at("hold-on", 5), ...at("contact", 10), uncounted("ignored", 10)],
    verdict: holds("proportion", { margin: null, checked: 0 }),
  },
];

describe("proportion", () => {
  test.each(TOLD)("told: $title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
  test.each(CHANGED)("a new ratio: $title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
  test.each(CONTACTS)("contacts: $title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
