import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { generate } from "../../harness/stimuli/generated.js";
import {
  contacts,
  eventsOf,
  happens,
  lastMicrosOf,
  type Passage,
  passagesOf,
} from "../../harness/stimuli/passage.js";
import { timesFor } from "../../harness/stimuli/scenario.js";
import { SCENARIOS } from "../../harness/stimuli/scenarios.js";
import { SETTING_NAMES } from "../../harness/link/setting-names.js";
import { SECOND } from "../../lib/pacing/index.js";
import { anySettings, anyStimulus, sound } from "../support/arbitraries.js";

describe("passages", () => {
  test("say just the events that they were made from", () => {
    fc.assert(
      fc.property(anyStimulus, (events) => {
        expect(eventsOf(passagesOf(events))).toEqual(
          eventsOf(events.map((each, i) => asPassage(each, events[i - 1]?.atMicros ?? 0))),
        );
      }),
    );
  });

  test("take evenly spaced contacts together, and evenly spaced closures of one length", () => {
    const passages: Passage[] = [
      contacts(5, 2 * SECOND),
      happens("prime-on", SECOND),
      { kind: "closures", afterMicros: SECOND, count: 3, everyMicros: SECOND, closedMicros: 20_000 },
      contacts(1, 0, SECOND),
    ];
    expect(passagesOf(eventsOf(passages))).toEqual(passages);
    expect(lastMicrosOf(passages)).toBe(15_020_000);
  });

  function asPassage(
    { atMicros, ...event }: ReturnType<typeof eventsOf>[number],
    lastMicros: number,
  ): Passage {
    return { kind: "event", afterMicros: atMicros - lastMicros, event };
  }
});

describe("scenarios", () => {
  test("have names of their own, in kebab case", () => {
    const names = SCENARIOS.map(({ name }) => name);
    expect(names.filter((name) => !/^[a-z]+(-[a-z]+)*$/.test(name))).toEqual([]);
    expect(new Set(names).size).toBe(names.length);
  });

  test("can be made for any settings, with no time before the last and no input that they do not name", () => {
    fc.assert(
      fc.property(anySettings, (settings) => {
        for (const scenario of SCENARIOS.filter(({ virtualOnly }) => virtualOnly !== true)) {
          const takes = new Set(scenario.needs);
          for (const { passages } of scenario.make({
            settings,
            times: timesFor(settings),
            tickMicros: 1,
            takes,
          })) {
            const events = eventsOf(passages);
            expect(
              events.filter(({ kind }) => !takes.has(kind)).map(({ kind }) => `${scenario.name} ${kind}`),
            ).toEqual([]);
            const back = events.filter(
              ({ atMicros }, i) => atMicros < (events[i - 1]?.atMicros ?? 0) || atMicros % 1 !== 0,
            );
            expect(back.map(({ atMicros }) => `${scenario.name} ${atMicros}`)).toEqual([]);
          }
        }
      }),
      { numRuns: 40 },
    );
  });
});

test("the same seed draws the same stimuli, however many, and they reach every kind of input", () => {
  const settings = sound({ strokes: 2, contacts: 1, leastSpacingMicros: SECOND / 2 });
  const draw = { settings, takes: () => true, settable: new Set(SETTING_NAMES), brief: false };
  const of = (runs: number): string[] =>
    generate(draw, 5, runs).map((drawn) => JSON.stringify([drawn.own, drawn.make(settings)]));
  expect(of(40).slice(0, 20)).toEqual(of(20));
  const kinds = new Set(
    generate(draw, 5, 100).flatMap((each) => eventsOf(each.make(settings).passages).map(({ kind }) => kind)),
  );
  expect(kinds.size).toBe(14);
});
