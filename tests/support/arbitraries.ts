/**
 * Any settings that are sound, and any stimulus. Test support: the generators of every property about the laws.
 */
import fc from "fast-check";
import {
  type Input,
  INHIBIT_CAUSES,
  type Micros,
  type Settings,
  type SettingsInput,
  validateSettings,
} from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";

const MILLI = 1_000;

/** Settings that are sound, or a failed test. */
export function sound(input: SettingsInput): Settings {
  const verdict = validateSettings(input);
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  return verdict.settings;
}

/** Small terms often, since there the corners are; the whole range sometimes; never more than 8 strokes a contact. */
const ratio = fc.oneof(
  {
    weight: 6,
    arbitrary: fc.record({
      strokes: fc.integer({ min: 1, max: 7 }),
      contacts: fc.integer({ min: 1, max: 9 }),
    }),
  },
  {
    weight: 1,
    arbitrary: fc
      .integer({ min: 8_192, max: 65_535 })
      .chain((contacts) =>
        fc.record({ strokes: fc.integer({ min: 1, max: 65_535 }), contacts: fc.constant(contacts) }),
      ),
  },
);

/** Settings in every mode mix, with limits near what one contact needs, so that runs reach them. */
export const anySettings: fc.Arbitrary<Settings> = fc
  .record({
    ratio,
    cadence: fc.constantFrom("spread", "prompt"),
    leastSpacingMicros: fc.integer({ min: 1, max: 500 * MILLI }),
    spareOwed: fc.nat({ max: 4 }),
    spareGrace: fc.integer({ min: 0, max: 3_000 * MILLI }),
    longestPrimeMicros: fc.integer({ min: 1, max: 3_000 * MILLI }),
    sparePrime: fc.integer({ min: 40 * MILLI, max: 300 * MILLI }),
    contactsDuringPrime: fc.constantFrom("earn", "ignore"),
    guard: fc.option(
      fc.record({ budget: fc.integer({ min: 1, max: 40 }), period: fc.integer({ min: 1, max: 9_000_000 }) }),
    ),
    spareBurst: fc.nat({ max: 6 }),
    closedMicros: fc.nat({ max: 60 * MILLI }),
    openMicros: fc.nat({ max: 60 * MILLI }),
    leastContactMicros: fc.oneof(fc.constant(0), fc.nat({ max: 200 * MILLI })),
    stuckMicros: fc.oneof(fc.constant(0), fc.integer({ min: 61 * MILLI, max: 2_000 * MILLI })),
    silentMicros: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: 4_000 * MILLI })),
    largestIncrease: fc.integer({ min: 1, max: 5 }),
    strokeBasis: fc.constantFrom("full", "measured"),
  })
  .map(({ spareOwed, spareGrace, sparePrime, guard, spareBurst, ratio: { strokes, contacts }, ...rest }) => {
    const most = Math.ceil(strokes / contacts);
    return sound({
      ...rest,
      strokes,
      contacts,
      owedLimitStrokes: most + spareOwed,
      graceMicros: most * rest.leastSpacingMicros + spareGrace,
      primeSpacingMicros: rest.leastSpacingMicros + sparePrime,
      guardBudgetStrokes: guard ? guard.budget : 0,
      guardPeriodMicros: guard ? guard.period : 1,
      guardBurstStrokes: most + spareBurst,
    });
  });

/** A moment's input, as the time since the last and what happens. */
interface Beat {
  readonly afterMicros: Micros;
  readonly make: (atMicros: Micros) => StimulusEvent;
}

// Gaps of nothing (the same microsecond), of bounce, of contacts, and past every grace.
const gap = fc.oneof(
  fc.constant(0),
  fc.nat({ max: 80 * MILLI }),
  { weight: 3, arbitrary: fc.nat({ max: 900 * MILLI }) },
  fc.nat({ max: 8_000 * MILLI }),
);

function input(
  kind: Exclude<Input["kind"], "inhibit-on" | "inhibit-off" | "settings">,
): (atMicros: Micros) => StimulusEvent {
  return (atMicros) => ({ kind, atMicros });
}

const operation: fc.Arbitrary<Beat["make"]> = fc.oneof(
  { weight: 10, arbitrary: fc.constant(input("contact")) },
  { weight: 4, arbitrary: fc.constantFrom(input("close"), input("open")) },
  { weight: 3, arbitrary: fc.constantFrom(input("prime-on"), input("prime-off")) },
  { weight: 2, arbitrary: fc.constantFrom(input("hold-on"), input("hold-off")) },
  { weight: 1, arbitrary: fc.constantFrom(input("reset"), input("wake")) },
  {
    weight: 2,
    arbitrary: fc
      .record({
        kind: fc.constantFrom("inhibit-on", "inhibit-off"),
        cause: fc.constantFrom(...INHIBIT_CAUSES),
      })
      .map(({ kind, cause }) => (atMicros: Micros) => ({ kind, atMicros, cause })),
  },
  {
    weight: 1,
    arbitrary: fc
      .record({ settings: anySettings, confirmed: fc.boolean() })
      .map((change) => (atMicros: Micros) => ({ kind: "settings", atMicros, ...change }) as const),
  },
);

const powerCut: fc.Arbitrary<readonly Beat[]> = fc
  .record({ afterMicros: gap, darkMicros: gap, darkKnown: fc.boolean() })
  .map(({ afterMicros, darkMicros, darkKnown }) => [
    { afterMicros, make: (atMicros) => ({ kind: "power-off", atMicros }) },
    { afterMicros: darkMicros, make: (atMicros) => ({ kind: "power-on", atMicros, darkKnown }) },
  ]);

const beats: fc.Arbitrary<readonly Beat[]> = fc.oneof(
  { weight: 12, arbitrary: fc.record({ afterMicros: gap, make: operation }).map((beat) => [beat]) },
  { weight: 1, arbitrary: powerCut },
);

/** Any inputs in any order, at times that never go back. */
export const anyStimulus: fc.Arbitrary<StimulusEvent[]> = fc
  .array(beats, { maxLength: 60, size: "max" })
  .map((several) => {
    let atMicros = 0;
    return several.flat().map(({ afterMicros, make }) => make((atMicros += afterMicros)));
  });
