/**
 * Is every difference between two runs seen, whichever is ahead, and nothing but differences? Laws 9 and 10.
 */
import { describe, expect, test } from "vitest";
import { judgePair, type Verdict } from "../../lib/laws/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { alarm, at, broken, cannotTell, counted, holds, shed, status } from "./kit.js";

const LAW = "wake-ups";

/** Feeds two runs, all of one before the other or event by event. */
function compared(
  order: "reference first" | "variant first" | "side by side",
  reference: readonly TraceEvent[],
  variant: readonly TraceEvent[],
): Verdict {
  const pair = judgePair(LAW);
  const length = Math.max(reference.length, variant.length);
  if (order === "variant first") variant.forEach(pair.seeVariant);
  if (order !== "side by side") reference.forEach(pair.seeReference);
  if (order === "reference first") variant.forEach(pair.seeVariant);
  for (let i = 0; i < length && order === "side by side"; i++) {
    const [r, v] = [reference[i], variant[i]];
    if (r !== undefined) pair.seeReference(r);
    if (v !== undefined) pair.seeVariant(v);
  }
  pair.verdict();
  return pair.verdict();
}

interface Pair {
  readonly title: string;
  readonly reference: readonly TraceEvent[];
  readonly variant: readonly TraceEvent[];
  /** Where the variant comes second, and where it comes first. */
  readonly verdict: Verdict;
  readonly swapped?: Verdict;
}

const RUN = [...at("contact", 10), counted(10, 2), status(10), ...at("paced", 10), shed(500, 1)];

const PAIRS: readonly Pair[] = [
  {
    title: "two runs with no effects",
    reference: at("contact", 10),
    variant: at("wake", 20),
    verdict: holds(LAW, { margin: null, checked: 0 }),
  },
  {
    title: "the same effects, whatever inputs and accounts are between them",
    reference: RUN,
    variant: [...at("wake", 1, 5), counted(10, 2), ...at("paced", 10), status(11), status(12), shed(500, 1)],
    verdict: holds(LAW, { margin: 0, checked: 3 }),
  },
  {
    title: "an effect at another time",
    reference: at("paced", 10, 110),
    variant: at("paced", 10, 111),
    verdict: broken(
      LAW,
      { margin: -1, checked: 2 },
      110,
      "paced at 111 µs in one run, paced at 110 µs in the other",
    ),
    swapped: broken(
      LAW,
      { margin: -1, checked: 2 },
      110,
      "paced at 110 µs in one run, paced at 111 µs in the other",
    ),
  },
  {
    title: "an effect of another kind",
    reference: [...at("paced", 10), ...at("primed", 20, 30)],
    variant: [...at("paced", 10), alarm("alarm-on", 20, "tripped"), ...at("paced", 30)],
    verdict: broken(
      LAW,
      { margin: -1, checked: 2 },
      20,
      "alarm-on tripped at 20 µs in one run, primed at 20 µs in the other",
    ),
    swapped: broken(
      LAW,
      { margin: -1, checked: 2 },
      20,
      "primed at 20 µs in one run, alarm-on tripped at 20 µs in the other",
    ),
  },
  {
    title: "an effect of another amount",
    reference: [counted(10, 2)],
    variant: [counted(10, 1)],
    verdict: broken(
      LAW,
      { margin: -1, checked: 1 },
      10,
      "counted contacts=1 earned=1 at 10 µs in one run, counted contacts=1 earned=2 at 10 µs in the other",
    ),
    swapped: broken(
      LAW,
      { margin: -1, checked: 1 },
      10,
      "counted contacts=1 earned=2 at 10 µs in one run, counted contacts=1 earned=1 at 10 µs in the other",
    ),
  },
  {
    title: "a variant that stops short",
    reference: at("paced", 10, 110, 210),
    variant: at("paced", 10),
    verdict: broken(LAW, { margin: -1, checked: 2 }, 110, "paced at 110 µs in one run, nothing in the other"),
  },
  {
    title: "a variant that goes on",
    reference: at("paced", 10),
    variant: at("paced", 10, 110, 210),
    verdict: broken(LAW, { margin: -1, checked: 2 }, 110, "paced at 110 µs in one run, nothing in the other"),
  },
];

describe.each(PAIRS)("$title", ({ reference, variant, verdict, swapped = verdict }) => {
  test("with the reference ahead", () => {
    expect(compared("reference first", reference, variant)).toEqual(verdict);
  });
  test("with the variant ahead", () => {
    expect(compared("variant first", reference, variant)).toEqual(swapped);
  });
  test("side by side", () => {
    expect(compared("side by side", reference, variant)).toEqual(verdict);
  });
});

test("the lead may change", () => {
  const pair = judgePair(LAW);
  at("paced", 10, 110).forEach(pair.seeReference);
  at("paced", 10, 110, 210, 310).forEach(pair.seeVariant);
  at("paced", 210, 310).forEach(pair.seeReference);
  expect(pair.verdict()).toEqual(holds(LAW, { margin: 0, checked: 4 }));
});

test("a variant that is moved in time is compared at the times it would have had", () => {
  const pair = judgePair("time-shift", 1_000);
  at("paced", 10, 110).forEach(pair.seeReference);
  at("paced", 1_010, 1_110).forEach(pair.seeVariant);
  expect(pair.verdict()).toEqual(holds("time-shift", { margin: 0, checked: 2 }));
});

test("a variant whose effects did not move by as much is seen, whichever is ahead", () => {
  const pair = judgePair("time-shift", 1_000);
  at("paced", 1_009).forEach(pair.seeVariant);
  at("paced", 10).forEach(pair.seeReference);
  expect(pair.verdict()).toEqual(
    broken(
      "time-shift",
      { margin: -1, checked: 1 },
      9,
      "paced at 10 µs in one run, paced at 9 µs in the other",
    ),
  );
});

describe("a run that is ahead by a limit of two effects", () => {
  test("can still be compared", () => {
    const pair = judgePair(LAW, 0, 2);
    at("paced", 10, 110).forEach(pair.seeReference);
    at("paced", 10, 110).forEach(pair.seeVariant);
    expect(pair.verdict()).toEqual(holds(LAW, { margin: 0, checked: 2 }));
  });

  test("cannot be compared once it is ahead by one more, and is not taken up again", () => {
    const pair = judgePair(LAW, 0, 2);
    at("paced", 10, 110, 210).forEach(pair.seeReference);
    at("paced", 11, 111).forEach(pair.seeVariant);
    expect(pair.verdict()).toEqual(
      cannotTell(LAW, { margin: null, checked: 0 }, "one run was ahead of the other by more than 2 effects"),
    );
  });

  test("by default may be ahead by many", () => {
    const pair = judgePair(LAW);
    const times = Array.from({ length: 10_000 }, (_, i) => i * 100);
    at("paced", ...times).forEach(pair.seeReference);
    at("paced", ...times).forEach(pair.seeVariant);
    expect(pair.verdict()).toEqual(holds(LAW, { margin: 0, checked: 10_000 }));
  });
});
