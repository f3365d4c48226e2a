/**
 * What would adding up fractions of a stroke lose, and what do we lose?
 *
 * Ten million contacts, three years of one every ten seconds. No source: the loss is that of IEEE 754 arithmetic, shown
 * here by doing it.
 */
import { expect, test } from "vitest";
import { newState, stepInPlace, wakeUntil } from "../../lib/pacing/index.js";
import { valid } from "../pacing/kit.js";

const CONTACTS = 10_000_000;
const EVERY_MICROS = 10_000_000;

/** The usual way: a fraction is added at each contact, and a stroke taken off whenever there is a whole one. */
function strokesByFraction(strokesPerContact: number, contacts: number): number {
  let sum = 0;
  let strokes = 0;
  for (let i = 0; i < contacts; i++) {
    sum += strokesPerContact;
    while (sum >= 1) {
      sum -= 1;
      strokes += 1;
    }
  }
  return strokes;
}

test("a tenth added a million times gives 99,999 strokes", () => {
  expect(strokesByFraction(0.1, 1_000_000)).toBe(99_999);
});

test("over ten million contacts at 1:10 fractions lose a stroke, and ours none", () => {
  const settings = valid({ strokes: 1, contacts: 10, leastSpacingMicros: 500_000 });
  const state = newState(settings);
  const contact: { kind: "contact"; atMicros: number } = { kind: "contact", atMicros: 0 };
  const ignore = (): void => undefined;
  for (let i = 1; i <= CONTACTS; i++) {
    contact.atMicros = i * EVERY_MICROS;
    wakeUntil(state, contact.atMicros, ignore);
    stepInPlace(state, contact);
  }
  wakeUntil(state, (CONTACTS + 1) * EVERY_MICROS, ignore);
  const { counted, earned, paced, owed, remainder } = state;
  expect({ counted, earned, paced, owed, remainder }).toEqual({
    counted: CONTACTS,
    earned: 1_000_000,
    paced: 1_000_000,
    owed: 0,
    remainder: 0,
  });
  expect(strokesByFraction(0.1, CONTACTS)).toBe(999_999);
});
