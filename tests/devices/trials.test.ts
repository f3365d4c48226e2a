/**
 * Is a mistake seen that only a varied run brings out, whichever law it breaks? And is it said in which run?
 */
import { expect, test } from "vitest";
import type { Run, StartRun } from "../../harness/device.js";
import { runModel } from "../../harness/devices/model.js";
import { runJudged } from "../../harness/devices/trials.js";
import { SECOND, type State } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

const SETTINGS = sound({
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 2,
  cadence: "prompt",
  graceMicros: 20 * SECOND,
});

// The power is cut after the first event and the eighth; the hold comes before the second cut.
const STIMULUS: readonly StimulusEvent[] = [
  ...[1, 1.2, 5, 9, 13, 17].map((second) => ({ kind: "contact", atMicros: second * SECOND }) as const),
  { kind: "hold-on", atMicros: 30 * SECOND },
  { kind: "wake", atMicros: 31 * SECOND },
  { kind: "prime-on", atMicros: 32 * SECOND },
  { kind: "prime-off", atMicros: 32.5 * SECOND },
  { kind: "hold-off", atMicros: 40 * SECOND },
];

/** The pacer, whose state is tampered with after some inputs, or after some of what it tells. */
function tampered(tamper: {
  readonly given?: (s: State, event: StimulusEvent) => void;
  readonly told?: (s: State, event: TraceEvent, isLate: boolean) => void;
}): StartRun {
  return (settings, sink, options = {}) => {
    let askedMicros = 0;
    const run = runModel(
      settings,
      (event) => {
        sink(event);
        tamper.told?.(run.state, event, askedMicros > 0 && event.atMicros > askedMicros);
      },
      {
        ...options,
        lateness(asked) {
          askedMicros = asked;
          return options.lateness?.(asked) ?? 0;
        },
      },
    );
    return {
      give(event) {
        run.give(event);
        tamper.given?.(run.state, event);
      },
      end: run.end,
    } satisfies Run;
  };
}

function brokenBy(start: StartRun): string[] {
  const run = runJudged(SETTINGS, () => undefined, start);
  for (const event of STIMULUS) run.give(event);
  run.end(100 * SECOND);
  return run
    .verdicts()
    .filter(({ answer }) => answer === "broken")
    .map(({ law, evidence }) => `${law}: ${evidence ?? ""}`);
}

test.each([
  { mistake: "makes none", start: runModel, broken: [] },
  {
    mistake: "drops what is left over of a contact when a stroke comes late",
    start: tampered({
      told: (s, { kind }, isLate) => {
        if (kind === "paced" && isLate) s.remainder = 0;
      },
    }),
    broken: [/^proportion: with late wake-ups: \d strokes? for 1 contacts at 5:3 leave -?\d\/3 of a stroke$/],
  },
  {
    mistake: "forgets the hold when the power goes",
    start: tampered({
      given: (s, { kind }) => {
        if (kind === "power-on") s.held = 0;
      },
    }),
    broken: [
      /^prime: with power cuts: a primed stroke, but prime is not held$/,
      /^silence: with power cuts: a primed stroke while held$/,
    ],
  },
  {
    mistake: "forgets the cap when the contact bounces",
    start: tampered({
      given: (s, { kind }) => {
        if (kind === "open" && s.owed > 0) {
          s.strokeMicros = 0;
          s.wakeAtMicros = s.nowMicros + 1;
        }
      },
    }),
    broken: [/^cap: with bouncing contacts: a stroke \d+ µs after the last; the least spacing is 500000 µs$/],
  },
])("a controller that $mistake is found so, in the run that brings it out", ({ start, broken }) => {
  expect(brokenBy(start)).toEqual(broken.map((words) => expect.stringMatching(words) as unknown));
});
