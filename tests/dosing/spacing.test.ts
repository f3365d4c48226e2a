/**
 * Are the stretches between strokes those that the pacer makes? The arithmetic shares no code with it.
 */
import fc from "fast-check";
import Fraction from "fraction.js";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { fromSi, numberIn, quantity } from "../../lib/dosing/quantity.js";
import { spacingAt } from "../../lib/dosing/spacing.js";
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

// The cap leaves room for every contact's strokes within its interval and within the grace.
const steady: fc.Arbitrary<Steady> = fc
  .record({
    strokes: fc.integer({ min: 1, max: 12 }),
    contacts: fc.integer({ min: 1, max: 12 }),
    cadence: fc.constantFrom<Cadence>("spread", "prompt"),
    intervalMicros: fc.integer({ min: 1_000_000, max: 200_000_000 }),
    graceMicros: fc.integer({ min: 1_000_000, max: 100_000_000 }),
    room: fc.integer({ min: 1, max: 5 }),
  })
  .map(({ room, ...made }) => {
    const most = Math.ceil(made.strokes / made.contacts);
    const span = Math.min(made.intervalMicros, made.graceMicros);
    return { ...made, leastSpacingMicros: Math.max(1, Math.floor(span / (most + room))) };
  });

test("mean and longest stretch are those of the pacer at a steady flow, in either cadence", () => {
  fc.assert(
    fc.property(steady, (run) => {
      const gaps = gapsMade(run);
      // One litre a contact, so that contacts are litres.
      const flow = fromSi("flow", new Fraction(1_000, run.intervalMicros));
      const { mean, longest } = spacingAt(
        run,
        flow,
        {
          contactVolume: quantity("volume", 1, "L"),
          capPerMinute: new Fraction(60_000_000, run.leastSpacingMicros),
        },
        {
          cadence: run.cadence,
          grace: fromSi("duration", new Fraction(run.graceMicros, 1_000_000)),
        },
      );
      const longestMicros = numberIn(longest.time, "s") * 1_000_000;
      expect(Math.abs(Math.max(...gaps) - longestMicros)).toBeLessThanOrEqual(2);
      const rounds = gaps.reduce((sum, gap) => sum + gap, 0) / (run.contacts * run.intervalMicros);
      expect(Math.abs(rounds - gaps.length / run.strokes)).toBeLessThan(1e-5);
      expect(numberIn(mean.water, "L")).toBeCloseTo(run.contacts / run.strokes, 9);
    }),
  );
});

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
  const settling = rest.contacts * Math.ceil(60 / rest.contacts);
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
