/**
 * Does the judge itself add up right? Earnings, remainder and debt, and what a change of settings carries over.
 */
import { describe, expect, test } from "vitest";
import { earnedBy, owedBy, remainderOf } from "../../lib/laws/reckoning.js";
import { at, change, reckoned, settings, shed } from "./kit.js";

describe("a change of settings", () => {
  const from = { strokes: 2, contacts: 3 };

  test.each([
    { to: { strokes: 4, contacts: 3 }, confirmed: false, taken: true },
    { to: { strokes: 5, contacts: 3 }, confirmed: false, taken: false },
    { to: { strokes: 5, contacts: 3 }, confirmed: true, taken: true },
    { to: { strokes: 2, contacts: 2 }, confirmed: false, taken: true },
    { to: { strokes: 2, contacts: 1 }, confirmed: false, taken: false },
    { to: { strokes: 8, contacts: 6 }, confirmed: false, taken: true },
    { to: { strokes: 9, contacts: 6 }, confirmed: false, taken: false },
    { to: { strokes: 1, contacts: 9 }, confirmed: false, taken: true },
  ])("from 2:3 to $to, confirmed: $confirmed, is taken: $taken", ({ to, confirmed, taken }) => {
    const r = reckoned([change(10, settings(to), confirmed)], settings(from));
    expect(r.settings).toEqual(settings(taken ? to : from));
  });

  test("carries what was earned, and the remainder rounded down", () => {
    const trace = [...at("contact", 1, 2, 3, 4), change(10, settings({ strokes: 2, contacts: 2 }))];
    const r = reckoned(trace, settings(from));
    expect([r.epochEarned, r.epochContacts, r.epochRemainder]).toEqual([2, 0, 1]);
    expect([earnedBy(r), remainderOf(r)]).toEqual([2, 1]);
  });

  test("carries a remainder up to a larger denominator exactly", () => {
    const r = reckoned(
      [...at("contact", 1), change(10, settings({ strokes: 4, contacts: 6 }))],
      settings(from),
    );
    expect([earnedBy(r), remainderOf(r)]).toEqual([0, 4]);
  });
});

test("what is earned, left over and owed follows from contacts, a known start and what came of it", () => {
  const r = reckoned(
    [...at("contact", 1, 2, 3, 4), ...at("paced", 4), shed(5, 1)],
    settings({ strokes: 5, contacts: 3 }),
    2,
  );
  expect({ earned: earnedBy(r), remainder: remainderOf(r), owed: owedBy(r) }).toEqual({
    earned: 7,
    remainder: 1,
    owed: 5,
  });
});
