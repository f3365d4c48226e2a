/**
 * Are the stretches between strokes those that the pacer makes? The arithmetic shares no code with it.
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { fromSi, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { type Spacing, spacingAt, type Stretch } from "../../lib/dosing/spacing.js";
import { type Cadence, validateSettings } from "../../lib/pacing/index.js";

interface Steady {
  readonly strokes: number;
  readonly contacts: number;
  readonly cadence: Cadence;
  /** Between contacts, and of the grace. */
  readonly intervalMicros: number;
  readonly graceMicros: number;
  readonly leastSpacingMicros: number;
}

const plain = {
  strokes: fc.integer({ min: 1, max: 12 }),
  contacts: fc.integer({ min: 1, max: 12 }),
  cadence: fc.constantFrom<Cadence>("spread", "prompt"),
  intervalMicros: fc.integer({ min: 1_000_000, max: 200_000_000 }),
};

// The cap leaves room for every contact's strokes within its interval and within the grace, often just so.
const roomy: fc.Arbitrary<Steady> = fc
  .record({
    ...plain,
    graceMicros: fc.integer({ min: 1_000_000, max: 100_000_000 }),
    room: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: 5 })),
  })
  .map(({ room, ...made }) => {
    const most = Math.ceil(made.strokes / made.contacts);
    const span = Math.min(made.intervalMicros, made.graceMicros);
    return { ...made, leastSpacingMicros: Math.floor(span / (most + room)) };
  });

// The cap leaves room for the strokes of a round, but not for those of its busiest contact, by 1 µs or by more.
const tight: fc.Arbitrary<Steady> = fc
  .record({ ...plain, share: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: 90 })) })
  .filter(({ strokes, contacts }) => strokes % contacts !== 0)
  .map(({ share, ...made }) => {
    const least = Math.floor(made.intervalMicros / Math.ceil(made.strokes / made.contacts)) + 1;
    const most = (made.intervalMicros * made.contacts) / made.strokes;
    const leastSpacingMicros = Math.floor(least + ((most - least) * share) / 100);
    return { ...made, graceMicros: 86_400_000_000, leastSpacingMicros };
  });

test("mean and longest stretch are those of the pacer at a steady flow, in either cadence", () => {
  fc.assert(
    fc.property(roomy, (run) => {
      const gaps = gapsMade(run);
      const { mean, longest } = spacingOf(run);
      // The pacer rounds every slice, and the middle of the first, down to whole microseconds.
      expect(Math.abs(Math.max(...gaps) - microsOf(longest))).toBeLessThan(4);
      expect(Math.abs(meanOf(gaps) - microsOf(mean))).toBeLessThan(2);
      expect(numberIn(mean.water, "L")).toBeCloseTo(run.contacts / run.strokes, 9);
    }),
  );
});

test("where a contact's strokes do not fit before the next, the pacer's longest stretch is never longer than said", () => {
  fc.assert(
    fc.property(tight, (run) => {
      const { mean, longest } = spacingOf(run);
      const made = Math.max(...gapsMade(run));
      expect(made).toBeLessThan(microsOf(longest) + 4);
      expect(microsOf(longest)).toBeGreaterThanOrEqual(microsOf(mean));
    }),
  );
});

test("one microsecond too little for even slices, and spread begins at once: the longest stretch jumps, as the pacer's does", () => {
  const run = { strokes: 3, contacts: 2, cadence: "spread", intervalMicros: 10_000_000 } as const;
  const longest = [5_000_000, 5_000_001].map((leastSpacingMicros) => {
    const made = { ...run, graceMicros: 90_000_000, leastSpacingMicros };
    return [Math.max(...gapsMade(made)), Math.round(microsOf(spacingOf(made).longest))];
  });
  expect(longest).toEqual([
    [7_500_000, 7_500_000],
    [9_999_998, 9_999_998],
  ]);
});

function microsOf({ time }: Stretch): number {
  return numberIn(time, "s") * 1_000_000;
}

function meanOf(gaps: readonly number[]): number {
  return gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length;
}

/** One litre a contact, so that contacts are litres. */
function spacingOf(run: Steady): Spacing {
  return spacingAt(
    run,
    fromSi("flow", new Fraction(1_000, run.intervalMicros)),
    {
      contactVolume: quantity("volume", 1, "L"),
      capPerMinute: new Fraction(60_000_000, run.leastSpacingMicros),
    },
    { cadence: run.cadence, grace: fromSi("duration", new Fraction(run.graceMicros, 1_000_000)) },
  );
}

const SETTLING_CONTACTS = 600;

/** The times between strokes over two whole rounds, after the pacer has found its stride. */
function gapsMade({ intervalMicros, ...rest }: Steady): number[] {
  const verdict = validateSettings({
    ...rest,
    silentMicros: 0,
  });
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  const times: number[] = [];
  const run = runModel(verdict.settings, (event) => {
    if (event.kind === "paced") times.push(event.atMicros);
  });
  // Whole rounds: the first contact's strokes are laid over the grace, which takes a while to be caught up.
  const settling = rest.contacts * Math.ceil(SETTLING_CONTACTS / rest.contacts);
  for (let k = 1; k <= settling + 2 * rest.contacts + 1; k++) {
    run.give({ kind: "contact", atMicros: k * intervalMicros });
  }
  run.end((settling + 2 * rest.contacts + 2) * intervalMicros);
  const from = (rest.strokes * settling) / rest.contacts - 1;
  const made = times.slice(from, from + 2 * rest.strokes + 1);
  return made.slice(1).map((time, i) => time - (made[i] as number));
}

test("where the cap bites, strokes come at the cap", () => {
  const { mean, longest } = spacingAt(
    { strokes: 10, contacts: 1 },
    quantity("flow", 60, "L/min"),
    { contactVolume: quantity("volume", 10, "L"), capPerMinute: new Fraction(30) },
    { cadence: "spread", grace: quantity("duration", 90, "s") },
  );
  expect([mean, longest].map(({ time, water }) => [numberIn(time, "s"), numberIn(water, "L")])).toEqual([
    [2, 2],
    [2, 2],
  ]);
});
