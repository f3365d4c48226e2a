/**
 * Can a dose be judged of a device that tells nothing of contacts? Law 1 from outside, once the water stands still.
 */
import { expect, test } from "vitest";
import { at, broken, cannotTell, cut, foundIn, holds, type Row, shed } from "./kit.js";

const KNOWN = { startRemainder: 0 };
const UNSEEN = "no contact is told of, and none was followed by a whole grace of still water";
const TWO_OWED = at("contact", 10, 20);

const OUTSIDE: readonly Row[] = [
  {
    title: "all made, one microsecond past the grace",
    options: KNOWN,
    trace: [...TWO_OWED, ...at("paced", 120, 220), ...at("wake", 1_021)],
    verdict: holds("proportion", { margin: 0, checked: 1 }),
  },
  {
    title: "at the end of the grace it is too early to tell",
    options: KNOWN,
    trace: [...TWO_OWED, ...at("paced", 120), ...at("wake", 1_020)],
    verdict: cannotTell("proportion", { margin: null, checked: 0 }, UNSEEN),
  },
  {
    title: "with a tolerance it is too early for as much longer",
    options: { ...KNOWN, toleranceMicros: 5 },
    trace: [...TWO_OWED, ...at("paced", 120), ...at("wake", 1_025)],
    verdict: cannotTell("proportion", { margin: null, checked: 0 }, UNSEEN),
  },
  {
    title: "past grace and tolerance it can be told",
    options: { ...KNOWN, toleranceMicros: 5 },
    trace: [...TWO_OWED, ...at("paced", 120), ...at("wake", 1_026)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      1_026,
      "1 earned strokes neither made nor shed",
    ),
  },
  {
    title: "what a device says is no moment of its own",
    options: KNOWN,
    trace: [...TWO_OWED, ...at("paced", 120, 2_000)],
    verdict: cannotTell("proportion", { margin: null, checked: 0 }, UNSEEN),
  },
  {
    title: "what was shed is accounted for",
    options: KNOWN,
    trace: [...TWO_OWED, ...at("paced", 120), shed(1_020, 1), ...at("wake", 1_021)],
    verdict: holds("proportion", { margin: 0, checked: 1 }),
  },
  {
    title: "one too many, with a known start",
    options: KNOWN,
    trace: [...TWO_OWED, ...at("paced", 120, 220, 320), ...at("wake", 1_021)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      1_021,
      "-1 earned strokes neither made nor shed",
    ),
  },
  {
    title: "one more may have been paid for before an unknown start",
    trace: [...TWO_OWED, ...at("paced", 120, 220, 320), ...at("wake", 1_021)],
    verdict: holds("proportion", { margin: 0, checked: 1 }),
  },
  {
    title: "two more may not",
    trace: [...TWO_OWED, ...at("paced", 120, 220, 320, 420), ...at("wake", 1_021)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      1_021,
      "-2 earned strokes neither made nor shed",
    ),
  },
  {
    title: "one less is lost, whatever the start",
    trace: [...TWO_OWED, ...at("paced", 120), ...at("wake", 1_021)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      1_021,
      "1 earned strokes neither made nor shed",
    ),
  },
  {
    title: "nothing need be made or shed while there is no power",
    options: KNOWN,
    trace: [...at("contact", 10), ...cut(20, 2_000), shed(2_000, 1), ...at("wake", 2_001)],
    verdict: holds("proportion", { margin: 0, checked: 1 }),
  },
  {
    title: "every later moment of still water is looked at",
    options: KNOWN,
    trace: [...at("wake", 5), ...at("contact", 10), ...at("paced", 110), ...at("wake", 2_000, 3_000)],
    verdict: holds("proportion", { margin: 0, checked: 2 }),
  },
];

test.each(OUTSIDE)("proportion seen from outside: $title", (row) => {
  expect(foundIn(row)).toEqual(row.verdict);
});
