/**
 * Is a correct controller ever called broken where it tells little, or its time stamps are off?
 */
import fc from "fast-check";
import { describe, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import type { JudgeOptions } from "../../lib/laws/index.js";
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
import { judged } from "./kit.js";

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
