/**
 * At which microsecond does each owed stroke come, in either cadence?
 *
 * With n strokes owed and a span S until the next contact, `spread` plans stroke i, from 0, for
 * ⌊⌊S/n⌋ / 2⌋ + i·⌊S/n⌋ + ⌊i·(S mod n)/n⌋ after the contact. The times in the tables were worked out by hand.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type Input, newState, NO_WAKE, SECOND, type SettingsInput, step } from "../../lib/pacing/index.js";
import { at, run, strokeTimes, valid } from "./kit.js";

const START = 1_000_000;

/**
 * Stroke times after a contact at START that came `intervalMicros` after the one before, with nothing owed from that
 * (it came in a hold), and with more contacts at `later` times after START.
 */
function strokesAfter(
  intervalMicros: number,
  over: Partial<SettingsInput>,
  later: readonly number[] = [],
): number[] {
  const settings = valid({ leastSpacingMicros: 1, ...over });
  const inputs: Input[] = [
    at(0, "hold-on"),
    at(START - intervalMicros),
    at(START - intervalMicros, "hold-off"),
    at(START),
    ...later.map((t) => at(START + t)),
  ];
  return strokeTimes(run(settings, inputs, START + 600 * SECOND).effects).map((t) => t - START);
}

describe("spread", () => {
  test.each([
    { title: "one stroke comes in the middle", strokes: 1, interval: 1_000, times: [500] },
    { title: "of an odd span, in the middle rounded down", strokes: 1, interval: 1_001, times: [500] },
    { title: "two come in the middle of each half", strokes: 2, interval: 1_000, times: [250, 750] },
    { title: "four in the middle of each quarter", strokes: 4, interval: 1_000, times: [125, 375, 625, 875] },
    {
      title: "three with a rest of 1: it never adds up to a whole",
      strokes: 3,
      interval: 1_000,
      times: [166, 499, 832],
    },
    {
      title: "three with a rest of 2: it does at the third",
      strokes: 3,
      interval: 1_001,
      times: [166, 499, 833],
    },
    {
      title: "seven with a rest of 2: it does at the fifth",
      strokes: 7,
      interval: 1_003,
      times: [71, 214, 357, 500, 644, 787, 930],
    },
    { title: "more strokes than microseconds keep to the cap", strokes: 4, interval: 2, times: [0, 1, 2, 3] },
    { title: "contacts of one microsecond leave no span", strokes: 2, interval: 0, times: [0, 1] },
  ])("$title", ({ strokes, interval, times }) => {
    expect(strokesAfter(interval, { strokes })).toEqual(times);
  });

  test.each([
    { title: "an interval of exactly the grace", interval: 8_000, times: [2_000, 6_000] },
    { title: "an interval 2 µs shorter", interval: 7_998, times: [1_999, 5_998] },
    {
      title: "an interval longer than the grace: its strokes lie within the grace",
      interval: 9_000,
      times: [2_000, 6_000],
    },
  ])("$title", ({ interval, times }) => {
    expect(strokesAfter(interval, { strokes: 2, graceMicros: 8_000 })).toEqual(times);
  });

  test("the very first contact, with no interval before it, is spread over the grace", () => {
    const settings = valid({ strokes: 3, graceMicros: 9_000, leastSpacingMicros: 1 });
    expect(strokeTimes(run(settings, [at(50)], SECOND).effects)).toEqual([1_550, 4_550, 7_550]);
  });

  test.each([
    { title: "slices wider than the cap are left alone", cap: 250, times: [125, 375, 625, 875] },
    { title: "narrower ones are held back, each from the one before", cap: 251, times: [125, 376, 627, 878] },
    { title: "into the next interval, where none comes", cap: 400, times: [125, 525, 925, 1_325] },
  ])("$title", ({ cap, times }) => {
    expect(strokesAfter(1_000, { strokes: 4, leastSpacingMicros: cap })).toEqual(times);
  });

  describe("contacts that do not keep time", () => {
    const two = { strokes: 2 };

    test("one that comes early finds one stroke still owed, and all three are spread over its own interval", () => {
      expect(strokesAfter(1_000, two, [600])).toEqual([250, 700, 900, 1_100]);
    });

    test("one that comes just when the last is due leaves the stroke to act first", () => {
      expect(strokesAfter(1_000, two, [750])).toEqual([250, 750, 937, 1_312]);
    });

    test("one that comes a microsecond before takes the stroke into the new plan", () => {
      expect(strokesAfter(1_000, two, [749])).toEqual([250, 873, 1_122, 1_372]);
    });

    test("one that comes late finds nothing owed, and its strokes are spread wider", () => {
      expect(strokesAfter(1_000, two, [1_500])).toEqual([250, 750, 1_875, 2_625]);
    });
  });

  test("a wake-up that is late delays the stroke and not the plan of the next", () => {
    const settings = valid({ strokes: 2, leastSpacingMicros: 100 });
    let state = newState(settings);
    for (const input of [at(0, "hold-on"), at(1_000), at(1_000, "hold-off"), at(2_000)]) {
      state = step(state, input).state;
    }
    expect(state.wakeAtMicros).toBe(2_250);
    const punctual = step(state, at(2_600, "wake"));
    expect([punctual.effects.length, punctual.wakeAtMicros]).toEqual([1, 2_750]);
    const late = step(state, at(2_700, "wake"));
    expect([late.effects.length, late.wakeAtMicros]).toEqual([1, 2_800]);
  });

  test("any count, interval, cap and grace give the times of the plan, held back by the cap, up to the grace", () => {
    const cases = fc.record({
      strokes: fc.integer({ min: 1, max: 40 }),
      interval: fc.integer({ min: 0, max: 9_000 }),
      cap: fc.integer({ min: 1, max: 300 }),
      slack: fc.nat(3_000),
    });
    fc.assert(
      fc.property(cases, ({ strokes, interval, cap, slack }) => {
        const graceMicros = strokes * cap + slack;
        const span = Math.min(interval, graceMicros);
        const slice = Math.floor(span / strokes);
        const expected: number[] = [];
        for (let i = 0; i < strokes; i++) {
          const planned = Math.floor(slice / 2) + i * slice + Math.floor((i * (span % strokes)) / strokes);
          const time = Math.max(planned, (expected[i - 1] ?? -Infinity) + cap);
          expected.push(time);
        }
        const made = strokesAfter(interval, { strokes, leastSpacingMicros: cap, graceMicros });
        expect(made).toEqual(expected.filter((time) => time <= graceMicros));
      }),
    );
  });

  test("steady flow, however slow, sheds nothing", () => {
    const cases = fc.record({
      strokes: fc.integer({ min: 1, max: 30 }),
      contacts: fc.integer({ min: 1, max: 30 }),
      interval: fc.integer({ min: 30_000, max: 10 * SECOND }),
    });
    fc.assert(
      fc.property(cases, ({ interval, ...ratio }) => {
        const settings = valid({ ...ratio, leastSpacingMicros: 900, graceMicros: 30_000 });
        const inputs = Array.from({ length: 60 }, (_, i) => at((i + 1) * interval));
        const { state } = run(settings, inputs, 61 * interval);
        expect([state.paced, state.owed]).toEqual([state.earned, 0]);
      }),
    );
  });
});

describe("prompt", () => {
  const prompt = { cadence: "prompt", strokes: 3, leastSpacingMicros: 200 } as const;

  test("strokes come at once, then as the cap allows", () => {
    expect(strokesAfter(1_000, prompt)).toEqual([0, 200, 400]);
  });

  test("a contact while strokes are owed adds to them and moves none", () => {
    expect(strokesAfter(1_000, prompt, [300])).toEqual([0, 200, 400, 600, 800, 1_000]);
  });

  test.each([
    { later: 599, times: [0, 200, 400, 600, 800, 1_000] },
    { later: 600, times: [0, 200, 400, 600, 800, 1_000] },
    { later: 601, times: [0, 200, 400, 601, 801, 1_001] },
  ])("a contact $later µs on keeps the least spacing from the last stroke", ({ later, times }) => {
    expect(strokesAfter(1_000, prompt, [later])).toEqual(times);
  });

  test.each([
    { title: "a stroke exactly at the end of the grace is made", second: 500, times: [0, 500, 1_000, 1_500] },
    { title: "one that would come a microsecond after it is shed", second: 499, times: [0, 500, 1_000] },
  ])("$title", ({ second, times }) => {
    const slow = { cadence: "prompt", strokes: 2, leastSpacingMicros: 500, graceMicros: 1_000 } as const;
    expect(strokesAfter(1_000, slow, [second])).toEqual(times);
  });
});

describe("the next wake-up", () => {
  test("is none where nothing is owed and nothing is watched", () => {
    expect(newState(valid({ silentMicros: 0 })).wakeAtMicros).toBe(NO_WAKE);
  });

  test("is the silence where that is all there is, counted from the start", () => {
    expect(newState(valid({ silentMicros: 500 }), 70).wakeAtMicros).toBe(570);
  });

  test("is the end of the grace where the cap holds the next stroke back beyond it", () => {
    const slow = valid({ cadence: "prompt", strokes: 2, leastSpacingMicros: 500, graceMicros: 1_000 });
    expect(run(slow, [at(0), at(499)], 1_000).state.wakeAtMicros).toBe(1_499);
  });

  test("is the stroke where one is due before", () => {
    expect(run(valid({ graceMicros: 20_000 }), [at(7)], 8).state.wakeAtMicros).toBe(10_007);
  });
});
