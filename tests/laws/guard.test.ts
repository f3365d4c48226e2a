/**
 * Is every stroke beyond the budget of some window seen, and no other? Law 15, to the microsecond.
 */
import { expect, test } from "vitest";
import { at, broken, change, foundIn, holds, type Row, settings } from "./kit.js";

const TOLERANT = { toleranceMicros: 5 };
// Two strokes at once; then one every 500 µs.
const TERMS = { guardBudgetStrokes: 2, guardPeriodMicros: 1_000, guardBurstStrokes: 2 };
const GUARDED = settings(TERMS);
const TOO_MANY = "a stroke more than 2 and 2 in 1000 µs allow";

const GUARD: readonly Row[] = [
  {
    title: "without a guard there is nothing to keep",
    trace: at("paced", 10, 11, 12),
    verdict: holds("guard", { margin: null, checked: 0 }),
  },
  {
    title: "a full bucket that has drained exactly enough",
    settings: GUARDED,
    trace: at("paced", 1_000, 1_100, 1_500),
    verdict: holds("guard", { margin: 0, checked: 3 }),
  },
  {
    title: "one microsecond too soon",
    settings: GUARDED,
    trace: at("paced", 1_000, 1_100, 1_499),
    verdict: broken("guard", { margin: -0.002, checked: 3 }, 1_499, TOO_MANY),
  },
  {
    title: "primed strokes pour in too",
    settings: GUARDED,
    trace: at("primed", 1_000, 1_100, 1_200),
    verdict: broken("guard", { margin: -0.6, checked: 3 }, 1_200, TOO_MANY),
  },
  {
    title: "a bucket does not drain below empty",
    settings: GUARDED,
    trace: at("paced", 0, 9_000, 9_100, 9_499),
    verdict: broken("guard", { margin: -0.002, checked: 4 }, 9_499, TOO_MANY),
  },
  {
    title: "at the edge of the tolerance",
    settings: GUARDED,
    options: TOLERANT,
    trace: at("paced", 1_000, 1_100, 1_495),
    verdict: holds("guard", { margin: 0, checked: 3 }),
  },
  {
    title: "past the tolerance",
    settings: GUARDED,
    options: TOLERANT,
    trace: at("paced", 1_000, 1_100, 1_494),
    verdict: broken("guard", { margin: -0.002, checked: 3 }, 1_494, TOO_MANY),
  },
  ...[
    { guardBudgetStrokes: 3, guardPeriodMicros: 1_000, guardBurstStrokes: 2 },
    { guardBudgetStrokes: 2, guardPeriodMicros: 999, guardBurstStrokes: 2 },
    { guardBudgetStrokes: 2, guardPeriodMicros: 1_000, guardBurstStrokes: 3 },
  ].map((terms): Row => ({
    title: `new terms begin with an empty bucket: ${Object.values(terms).join(" ")}`,
    settings: GUARDED,
    trace: [...at("paced", 1_000, 1_100), change(1_110, settings(terms)), ...at("paced", 1_200, 1_300)],
    verdict: holds("guard", { margin: 0.2, checked: 4 }),
  })),
  {
    title: "a change of anything else leaves the bucket as it is",
    settings: GUARDED,
    trace: [
      ...at("paced", 1_000, 1_100),
      change(1_110, settings({ ...TERMS, graceMicros: 2_000 })),
      ...at("paced", 1_200),
    ],
    verdict: broken("guard", { margin: -0.6, checked: 3 }, 1_200, TOO_MANY),
  },
];

test.each(GUARD)("guard: $title", (row) => {
  expect(foundIn(row)).toEqual(row.verdict);
});
