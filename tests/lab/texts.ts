/**
 * Sound settings of the lab, generated. Test support.
 */
import fc from "fast-check";
import { START_TEXTS, type Texts } from "../../harness/lab/fields.js";
import { PATTERNS } from "../../harness/lab/patterns.js";
import { type Values, readTexts } from "../../harness/lab/read.js";
import type { Press } from "../../harness/lab/state.js";
import { DAY, SECOND } from "../../lib/pacing/index.js";

const tenths = (least: number, most: number) =>
  fc.integer({ min: least * 10, max: most * 10 }).map((value) => String(value / 10));

/** Texts that the lab takes; small days, so that many of them can be run. */
export const anyTexts: fc.Arbitrary<Texts> = fc
  .record({
    pattern: fc.constantFrom(...PATTERNS.map(({ name }) => name)),
    peak: tenths(5, 100).map((value) => `${value} L/min`),
    "contact-volume": tenths(20, 300).map((value) => `${value} L`),
    "mixing-volume": tenths(20, 500).map((value) => `${value} L`),
    cap: fc.integer({ min: 2, max: 120 }).map(String),
    strokes: fc.integer({ min: 1, max: 5 }),
    contacts: fc.integer({ min: 1, max: 9 }),
    cadence: fc.constantFrom("spread", "prompt"),
    grace: fc.constantFrom("150 s", "4 min", "1 h"),
  })
  .map(({ strokes, contacts, ...rest }) => ({ ...START_TEXTS, ...rest, ratio: `${strokes}:${contacts}` }));

/** Presses of prime, in order, none overlapping. */
export const anyPresses: fc.Arbitrary<Press[]> = fc
  .uniqueArray(fc.integer({ min: 0, max: DAY / SECOND - 1 }), { maxLength: 6 })
  .map((seconds) => {
    const sorted = seconds.sort((a, b) => a - b);
    return sorted.slice(0, sorted.length - (sorted.length % 2));
  })
  .map((seconds) =>
    Array.from({ length: seconds.length / 2 }, (_, i) => ({
      onMicros: (seconds[2 * i] as number) * SECOND,
      offMicros: (seconds[2 * i + 1] as number) * SECOND,
    })),
  );

/** What texts mean, or a failed test. */
export function valuesOf(texts: Partial<Texts>): Values {
  const reading = readTexts({ ...START_TEXTS, ...texts });
  if (!reading.ok) throw new Error(JSON.stringify(reading.faults));
  return reading.values;
}
