/**
 * What is the form of a verdict, and what is said of a trace in which nothing happens?
 */
import { describe, expect, test } from "vitest";
import { finding } from "../../lib/laws/law.js";
import { at, broken, cannotTell, holds, judged, settings } from "./kit.js";

const NOTHING = { margin: null, checked: 0 };

test("of an empty trace every law is judged, in order, and what cannot be told is not passed", () => {
  expect(judged(settings(), [])).toEqual([
    holds("proportion", NOTHING),
    cannotTell("balance", NOTHING, "nothing happened"),
    holds("cap", NOTHING),
    holds("causality", NOTHING),
    holds("prime", NOTHING),
    holds("silence", NOTHING),
    holds("debt", NOTHING),
    holds("still-water", NOTHING),
    cannotTell("wake-ups", NOTHING, "it takes two runs"),
    cannotTell("time-shift", NOTHING, "it takes two runs"),
    cannotTell("lateness", NOTHING, "no wake-up came late"),
    cannotTell("power-cycle", NOTHING, "no power cut had accounts told before and after it"),
    cannotTell("bounce", NOTHING, "no raw edges were given"),
    holds("totality", NOTHING),
    holds("guard", NOTHING),
  ]);
});

test("the laws are numbered 1 to 15", () => {
  expect(judged(settings(), []).map(({ number }) => number)).toEqual(
    Array.from({ length: 15 }, (_, i) => i + 1),
  );
});

test("verdicts may be asked for while a trace goes on, and again", () => {
  const trace = [...at("contact", 10), ...at("paced", 10)];
  expect(judged(settings(), trace)).toEqual(judged(settings(), trace));
});

describe("a finding", () => {
  const unasked = (): string => {
    throw new Error("asked for evidence where nothing broke");
  };

  test("keeps the least margin and asks for no evidence while the law is kept", () => {
    const found = finding("cap", "µs");
    found.weigh(true, 5, 10, unasked);
    found.weigh(true, 2, 20, unasked);
    found.weigh(true, 7, 30, unasked);
    expect(found.verdict()).toEqual(holds("cap", { margin: 2, checked: 3 }));
  });

  test("keeps the first moment it broke, and the least margin of all", () => {
    const found = finding("cap", "µs");
    found.weigh(false, -1, 10, () => "first");
    found.weigh(false, -4, 20, unasked);
    found.weigh(true, 3, 30, unasked);
    expect(found.verdict()).toEqual(broken("cap", { margin: -4, checked: 3 }, 10, "first"));
  });

  test("that broke is told as broken even where the rest cannot be told", () => {
    const found = finding("cap", "µs");
    found.weigh(false, -1, 10, () => "first");
    expect(found.verdict("too short")).toEqual(broken("cap", { margin: -1, checked: 1 }, 10, "first"));
  });

  test("that cannot be told is no pass, whatever was kept", () => {
    const found = finding("cap", "µs");
    found.weigh(true, 1, 10, unasked);
    expect(found.verdict("too short")).toEqual(cannotTell("cap", { margin: 1, checked: 1 }, "too short"));
  });

  test.each([Infinity, -Infinity, NaN])("has no margin where none was measured: %d", (by) => {
    const found = finding("cap", "µs");
    found.weigh(true, by, 10, unasked);
    expect(found.verdict()).toEqual(holds("cap", { margin: null, checked: 1 }));
  });
});
