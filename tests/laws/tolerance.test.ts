/**
 * What does a tolerance forgive, to the microsecond, and what not? Responses that are stamped a little late.
 */
import { describe, expect, test } from "vitest";
import type { JudgeOptions } from "../../lib/laws/index.js";
import { LOST } from "../../lib/laws/reckoning.js";
import {
  alarm,
  at,
  broken,
  cannotTell,
  change,
  counted,
  cut,
  foundIn,
  holds,
  inhibit,
  type Row,
  settings,
  shed,
  status,
} from "./kit.js";

const T = 5;
const TOLERANT: JudgeOptions = { startRemainder: 0, toleranceMicros: T };

function within(title: string, trace: Row["trace"], verdict: Row["verdict"], given: Partial<Row> = {}): Row {
  return { title, options: TOLERANT, trace, verdict, ...given };
}

const AT_ONCE = holds("silence", { margin: 0, checked: 1 });
const LOUD = (atMicros: number, why: string) =>
  broken("silence", { margin: -1, checked: 1 }, atMicros, `a paced stroke while ${why}`);
const NOT_HELD = "a primed stroke, but prime is not held";

const TOLERANCE: readonly Row[] = [
  within("a stroke within the tolerance of a hold", [...at("hold-on", 50), ...at("paced", 55)], AT_ONCE),
  within("a stroke past it", [...at("hold-on", 50), ...at("paced", 56)], LOUD(56, "held")),
  within(
    "a second stop does not forgive what the first forbade",
    [...at("hold-on", 50), inhibit("inhibit-on", 60, "tank"), ...at("paced", 62)],
    LOUD(62, "inhibited (tank) and held"),
  ),
  within(
    "a stop anew forgives anew",
    [...at("hold-on", 50), ...at("hold-off", 60), ...at("hold-on", 70), ...at("paced", 75)],
    AT_ONCE,
  ),
  within(
    "a stroke within the tolerance of a power cut",
    [...at("power-off", 50), ...at("paced", 55)],
    AT_ONCE,
  ),
  within(
    "a primed stroke within the tolerance of the release",
    [...at("prime-on", 10), ...at("prime-off", 50), ...at("primed", 55)],
    holds("prime", { margin: 0, checked: 1 }),
  ),
  within(
    "a primed stroke past it",
    [...at("prime-on", 10), ...at("prime-off", 50), ...at("primed", 56)],
    broken("prime", { margin: -1, checked: 1 }, 56, NOT_HELD),
  ),
  within(
    "a primed stroke within the tolerance of a stop",
    [...at("prime-on", 10), ...at("hold-on", 50), ...at("primed", 54)],
    holds("prime", { margin: 1, checked: 1 }),
  ),
  within(
    "a release after the longest hold moves its end no further",
    [...at("prime-on", 10), ...at("prime-off", 514), ...at("primed", 516)],
    broken("prime", { margin: -1, checked: 1 }, 516, NOT_HELD),
  ),
  within(
    "a stroke within the tolerance of a restart may be from before it",
    [...cut(10, 20), ...at("paced", 25, 120)],
    holds("cap", { margin: 0, checked: 1 }),
  ),
  within(
    "a stroke past it is not",
    [...cut(10, 20), ...at("paced", 26)],
    broken(
      "cap",
      { margin: -89, checked: 1 },
      26,
      "a stroke 6 µs after the last; the least spacing is 100 µs",
    ),
  ),
  within(
    "accounts told so soon after a short cut may be from before it",
    [status(5, { paced: 0 }), ...cut(10, 15), status(16, { earned: 1, paced: 1 })],
    cannotTell(
      "power-cycle",
      { margin: null, checked: 0 },
      "no power cut had accounts told before and after it",
    ),
  ),
  within(
    "a trip told within the tolerance of a reset may have been reset",
    [...at("reset", 10), alarm("alarm-on", 15, "tripped"), ...at("paced", 90)],
    AT_ONCE,
  ),
  within(
    "a trip told after that stands",
    [...at("reset", 10), alarm("alarm-on", 16, "tripped"), ...at("paced", 90)],
    LOUD(90, "tripped"),
  ),
  ...(["proportion", "causality"] as const).map((law) =>
    within(
      `which contacts prime ignored cannot be told around a trip: ${law}`,
      [
        ...at("prime-on", 10),
        ...at("contact", 20),
        alarm("alarm-on", 22, "tripped"),
        counted(22, 1),
        ...at("paced", 90),
      ],
      cannotTell(law, { margin: null, checked: 0 }, LOST),
      { settings: settings({ contactsDuringPrime: "ignore" }) },
    ),
  ),
  within(
    "nor where prime was released within the tolerance of the trip",
    [
      ...at("prime-on", 10),
      ...at("contact", 20),
      ...at("prime-off", 20),
      alarm("alarm-on", 25, "tripped"),
      counted(25, 1),
    ],
    cannotTell("proportion", { margin: null, checked: 0 }, LOST),
    { settings: settings({ contactsDuringPrime: "ignore" }) },
  ),
  within(
    "nor where contacts were no more ignored by then, within the tolerance of the change",
    [
      ...at("prime-on", 10),
      ...at("contact", 20),
      change(20, settings()),
      alarm("alarm-on", 25, "tripped"),
      counted(25, 1),
    ],
    cannotTell("proportion", { margin: null, checked: 0 }, LOST),
    { settings: settings({ contactsDuringPrime: "ignore" }) },
  ),
  within(
    "a remainder told within the tolerance of another ratio is not laid to a primed stroke",
    [
      ...at("prime-on", 5),
      change(10, settings()),
      status(12, { remainder: 1 }),
      ...at("primed", 20),
      status(21, { primed: 1 }),
    ],
    holds("prime", { margin: 490, checked: 1 }),
  ),
  within(
    "what a contact earned within the tolerance of another ratio begins that ratio at an unknown remainder",
    [
      ...at("contact", 8),
      change(10, settings({ contacts: 2, largestIncrease: 5 })),
      counted(12, 1),
      ...at("contact", 20),
      counted(20, 1),
    ],
    holds("proportion", { margin: 0.5, checked: 1 }),
  ),
  within(
    "a shedding that may still be on its way is waited for",
    [...at("contact", 10, 20), ...at("paced", 25), shed(25, 1)],
    holds("debt", { margin: null, checked: 0 }),
    { settings: settings({ owedLimitStrokes: 1 }) },
  ),
];

// Each mistake is twice the tolerance, or falls short by as much.
const FAULTS: readonly Row[] = [
  within(
    "a stroke two tolerances after a hold",
    [...at("contact", 10), ...at("hold-on", 50), ...at("paced", 60)],
    LOUD(60, "held"),
  ),
  within(
    "a spacing two tolerances short",
    [...at("contact", 10, 20), ...at("paced", 50, 140)],
    broken(
      "cap",
      { margin: -5, checked: 1 },
      140,
      "a stroke 90 µs after the last; the least spacing is 100 µs",
    ),
  ),
  within(
    "a primed stroke two tolerances after the release",
    [...at("prime-on", 10), ...at("prime-off", 50), ...at("primed", 60)],
    broken("prime", { margin: -5, checked: 1 }, 60, NOT_HELD),
  ),
];

describe.each([
  { about: "what the tolerance allows", rows: TOLERANCE },
  { about: "what no tolerance excuses", rows: FAULTS },
])("$about", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
