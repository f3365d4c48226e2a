/**
 * Is a correct controller ever called broken where it tells little, or its time stamps are off? And a faulty one still
 * caught?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import type { JudgeOptions } from "../../lib/laws/index.js";
import { LOST } from "../../lib/laws/reckoning.js";
import type { Micros, Settings } from "../../lib/pacing/index.js";
import {
  EVENT_KINDS,
  type EventKind,
  formatRow,
  isStimulus,
  type StimulusEvent,
  type TraceEvent,
} from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { alarm, at, broken, cannotTell, change, counted, cut, foundIn, holds, inhibit } from "./kit.js";
import { judged, type Row, settings, shed, status } from "./kit.js";

const RUNS = Number(process.env["TALLYSTROKE_RUNS"] ?? 600);
const STROKES: readonly EventKind[] = ["paced", "primed"];
const OTHERS = EVENT_KINDS.filter(
  (kind) => !isStimulus({ kind } as TraceEvent) && kind !== "fault" && !STROKES.includes(kind),
);

/** What the correct pacer does, up to a moment at which the water has long stood still. */
function traceOf(given: Settings, stimulus: readonly StimulusEvent[]): TraceEvent[] {
  const trace: TraceEvent[] = [];
  const run = runModel(given, (event) => trace.push(event));
  for (const event of stimulus) run.give(event);
  const endMicros = (stimulus.at(-1)?.atMicros ?? 0) + 10_000_000;
  const isDark = stimulus.findLast(({ kind }) => kind.startsWith("power-"))?.kind === "power-off";
  run.give(
    isDark
      ? { kind: "power-on", atMicros: endMicros, darkKnown: true }
      : { kind: "wake", atMicros: endMicros },
  );
  run.give({ kind: "wake", atMicros: endMicros + 10_000_000 });
  return trace;
}

/** Every response stamped up to `mostMicros` too late, their order kept; inputs where they are. */
function late(trace: readonly TraceEvent[], mostMicros: Micros, draws: readonly number[]): TraceEvent[] {
  let lastMicros = 0;
  const stamped = trace.map((event, i) => {
    if (isStimulus(event)) return event;
    const byMicros = (draws[i % draws.length] as number) % (mostMicros + 1);
    lastMicros = Math.max(lastMicros, event.atMicros + byMicros);
    return { ...event, atMicros: lastMicros };
  });
  return stamped.sort((a, b) => a.atMicros - b.atMicros);
}

function expectNoneBroken(given: Settings, trace: readonly TraceEvent[], options: JudgeOptions): void {
  const found = judged(given, trace, options).filter(({ answer }) => answer === "broken");
  if (found.length > 0) throw new Error(JSON.stringify(found) + "\n" + trace.map(formatRow).join("\n"));
}

const start = fc.constantFrom({ startRemainder: 0 }, {});
const draws = fc.array(fc.nat({ max: 1_000_000 }), { minLength: 1, maxLength: 20 });
const tolerance = fc.oneof(fc.constant(1), fc.nat({ max: 20_000 }), fc.nat({ max: 400_000 }));

describe("no false alarm", () => {
  test("of a controller that tells nothing but its strokes no law is called broken", () => {
    fc.assert(
      fc.property(anySettings, anyStimulus, start, (given, stimulus, options) => {
        const trace = traceOf(given, stimulus).filter(
          (event) => isStimulus(event) || STROKES.includes(event.kind),
        );
        expectNoneBroken(given, trace, { ...options, tells: new Set(STROKES) });
      }),
      { numRuns: RUNS },
    );
  });

  test("of a controller whose time stamps are late within the tolerance no law is called broken", () => {
    fc.assert(
      fc.property(
        anySettings,
        anyStimulus,
        start,
        tolerance,
        draws,
        (given, stimulus, options, toleranceMicros, by) => {
          const trace = late(traceOf(given, stimulus), toleranceMicros, by);
          expectNoneBroken(given, trace, { ...options, toleranceMicros });
        },
      ),
      { numRuns: RUNS },
    );
  });

  test("nor of one that tells any part of what there is to tell, late within the tolerance", () => {
    fc.assert(
      fc.property(
        anySettings,
        anyStimulus,
        start,
        fc.oneof(fc.constant(0), tolerance),
        draws,
        fc.subarray(OTHERS),
        (given, stimulus, options, toleranceMicros, by, others) => {
          const tells = new Set([...STROKES, ...others]);
          const trace = late(traceOf(given, stimulus), toleranceMicros, by).filter(
            (event) => isStimulus(event) || tells.has(event.kind),
          );
          expectNoneBroken(given, trace, { ...options, toleranceMicros, tells });
        },
      ),
      { numRuns: RUNS },
    );
  });
});

const KNOWN = { startRemainder: 0 };
const UNTOLD = { ...KNOWN, tells: new Set(STROKES) };
const MISSING = "1 earned strokes neither made nor shed";
const MAY_BE_SHED = "what was shed is not told of, and something may have been";
const ONE_MISSING = [...at("contact", 10, 20), ...at("paced", 120)];

function unweighed(title: string, before: Row["trace"], given: Partial<Row> = {}): Row {
  return {
    title,
    options: UNTOLD,
    trace: [...before, ...at("wake", 3_000)],
    verdict: cannotTell("proportion", { margin: 1, checked: 1 }, MAY_BE_SHED),
    ...given,
  };
}

const TELLS: readonly Row[] = [
  {
    title: "a missing stroke is seen as long as nothing may have been shed",
    options: UNTOLD,
    trace: [...ONE_MISSING, ...at("wake", 3_000)],
    verdict: broken("proportion", { margin: -1, checked: 1 }, 3_000, MISSING),
  },
  ...[
    at("hold-on", 130),
    at("prime-on", 130),
    [inhibit("inhibit-on", 130, "tank")],
    [change(130, settings())],
    cut(130, 140),
    [alarm("alarm-on", 130, "owed-limit")],
  ].map((events) =>
    unweighed(`a missing stroke may have been shed after ${events[0]?.kind ?? ""}`, [
      ...ONE_MISSING,
      ...events,
    ]),
  ),
  unweighed("a missing stroke may have been shed at the owed limit", ONE_MISSING, {
    settings: settings({ owedLimitStrokes: 1 }),
  }),
  unweighed("a missing stroke may have been shed where the cap does not let all through", ONE_MISSING, {
    settings: settings({ graceMicros: 199 }),
  }),
  unweighed("a missing stroke may have been owed longer than it seems", ONE_MISSING, {
    settings: settings({ owedLimitStrokes: 2 }),
    options: { ...UNTOLD, toleranceMicros: 5 },
  }),
  unweighed("a missing stroke may have been shed by a trip", ONE_MISSING, {
    settings: settings({ guardBudgetStrokes: 1, guardPeriodMicros: 1_000 }),
  }),
  {
    title: "too many strokes are seen whatever may have been shed",
    options: UNTOLD,
    trace: [...at("contact", 10), ...at("prime-on", 20, 30), ...at("paced", 110, 220), ...at("wake", 3_000)],
    verdict: broken(
      "proportion",
      { margin: -1, checked: 1 },
      3_000,
      "-1 earned strokes neither made nor shed",
    ),
  },
  {
    title: "a bounce cannot be told where contacts are not told of",
    options: UNTOLD,
    trace: [...at("close", 10), ...at("open", 50)],
    verdict: cannotTell(
      "bounce",
      { margin: null, checked: 0 },
      "the controller does not tell of its contacts",
    ),
  },
  {
    title: "contacts that did not earn are not missed where they are not told of",
    options: { ...KNOWN, tells: new Set<EventKind>(["counted"]) },
    trace: [...at("hold-on", 5), ...at("close", 10), ...at("open", 50)],
    verdict: holds("bounce", { margin: null, checked: 0 }),
  },
  {
    title: "what is owed cannot be told without sheddings or accounts",
    options: UNTOLD,
    settings: settings({ owedLimitStrokes: 1 }),
    trace: [...at("contact", 10, 20), ...at("paced", 110)],
    verdict: cannotTell("debt", { margin: null, checked: 0 }, "the controller does not tell what it owes"),
  },
  {
    title: "what is owed is reckoned where sheddings are told",
    options: { ...KNOWN, tells: new Set<EventKind>([...STROKES, "shed"]) },
    settings: settings({ owedLimitStrokes: 1 }),
    trace: [...at("contact", 10, 20), ...at("paced", 110)],
    verdict: broken("debt", { margin: -1, checked: 1 }, 110, "2 owed, limit 1"),
  },
  {
    title: "sheddings that are not told of are not missed in the accounts",
    options: { ...KNOWN, tells: new Set<EventKind>([...STROKES, "status"]) },
    trace: [...at("contact", 10), status(1_010, { earned: 1, shed: 1 })],
    verdict: holds("balance", { margin: 0, checked: 1 }),
  },
];

const T = 5;
const TOLERANT: JudgeOptions = { ...KNOWN, toleranceMicros: T };

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
  { about: "what is not told", rows: TELLS },
  { about: "what is told inexactly", rows: TOLERANCE },
  { about: "what no tolerance excuses", rows: FAULTS },
])("$about", ({ rows }) => {
  test.each(rows)("$title", (row) => {
    expect(foundIn(row)).toEqual(row.verdict);
  });
});
