/**
 * What the lab says: refusals at their fields, and numbers and answers that come from what is set.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Answer } from "../../harness/lab/answer.js";
import { FIELD_NAMES, FIELDS, START_TEXTS, type Texts } from "../../harness/lab/fields.js";
import { EVENTS_MOST, readTexts } from "../../harness/lab/read.js";
import { reckon, type Reckoned } from "../../harness/lab/reckon.js";
import { numberIn, spacingAt } from "../../lib/dosing/index.js";
import { anyPresses, anyTexts, valuesOf } from "./texts.js";

function dayOf(texts: Partial<Texts>): Reckoned {
  const reckoned = reckon({ ...START_TEXTS, ...texts }, []);
  if (!reckoned.ok) throw new Error(JSON.stringify(reckoned.faults));
  return reckoned;
}

function answer(texts: Partial<Texts>, id: string): Answer {
  return dayOf(texts).answers.find((one) => one.id === id) as Answer;
}

describe("fields", () => {
  test("are listed in the order of their names, and their start is sound", () => {
    expect(FIELDS.map(({ name }) => name)).toEqual(FIELD_NAMES);
    expect(readTexts(START_TEXTS).ok).toBe(true);
  });

  test.each<[Partial<Texts>, string, RegExp, RegExp]>([
    [{ dose: "1.2" }, "dose", /has no unit/, /mg\/L/],
    [{ dose: "" }, "dose", /is empty/, /mg\/L/],
    [{ "contact-volume": "0 L" }, "contact-volume", /is zero/, /above zero/],
    [{ "stroke-volume": "1,5 mL" }, "stroke-volume", /comma/, /decimal point/],
    [{ strength: "5 % w/w" }, "strength", /by weight/, /specific gravity/],
    [{ cap: "0" }, "cap", /is "0"/, /from 0.1 to 10000/],
    [{ ratio: "3/2" }, "ratio", /is "3\/2"/, /strokes:contacts/],
    [{ cadence: "even" }, "cadence", /is "even"/, /spread or prompt/],
    [{ grace: "1 s", cap: "20" }, "grace", /too short/, /at least 6 s/],
    [{ "longest-prime": "2 h" }, "longest-prime", /is /, /1 h/],
    [{ pattern: "lake" }, "pattern", /is "lake"/, /steady/],
    [{ "contact-volume": "0.1 L" }, "contact-volume", /more than the lab reckons/, /at least/],
    [{ ratio: "60:1", grace: "10 min" }, "ratio", /more than the lab reckons/, /fewer strokes/],
  ])("%j is refused at %s with its mend", (texts, field, fault, mend) => {
    const reading = readTexts({ ...START_TEXTS, ...texts });
    expect(reading).toEqual({
      ok: false,
      faults: [
        { field, fault: expect.stringMatching(fault) as string, mend: expect.stringMatching(mend) as string },
      ],
    });
  });

  test("several faults are told at once, each at its field", () => {
    const reading = readTexts({ ...START_TEXTS, dose: "much", ratio: "0:1", pattern: "sea" });
    expect(reading.ok ? [] : reading.faults.map(({ field }) => field)).toEqual(["pattern", "dose", "ratio"]);
  });

  test("any texts at all are read or refused, and never thrown at", () => {
    const anyText = fc.oneof(
      fc.string(),
      fc.constantFrom(...FIELDS.map(({ start }) => start), "1e9 L", "-1 L", "NaN", "1:1:1"),
    );
    const wild = fc.record(Object.fromEntries(FIELD_NAMES.map((name) => [name, anyText])));
    fc.assert(
      fc.property(wild, (texts) => {
        const reading = readTexts(texts as unknown as Texts);
        expect(reading.ok || reading.faults.length > 0).toBe(true);
      }),
    );
  });

  test("the mend of a meter with too many contacts serves", () => {
    const reading = readTexts({ ...START_TEXTS, "contact-volume": "0.1 L" });
    const [, litres] = /at least ([\d.]+ L)/.exec(reading.ok ? "" : (reading.faults[0]?.mend ?? "")) ?? [];
    const mended = valuesOf({ "contact-volume": litres ?? "" });
    expect(mended.contacts.length).toBeLessThanOrEqual(EVENTS_MOST);
  });
});

describe("reckoning", () => {
  test("remembering what was worked out changes no answer", () => {
    const memory = {};
    fc.assert(
      fc.property(fc.constantFrom<Partial<Texts>>({}, { cap: "6" }), anyPresses, (texts, presses) => {
        const all = { ...START_TEXTS, ...texts };
        expect(reckon(all, presses, memory)).toEqual(reckon(all, presses));
      }),
      { numRuns: 8 },
    );
  });

  test("the numbers are those of the run", () => {
    fc.assert(
      fc.property(anyTexts, anyPresses, (texts, presses) => {
        const reckoned = reckon(texts, presses);
        if (!reckoned.ok) throw new Error(JSON.stringify(reckoned.faults));
        const number = (name: string): number =>
          reckoned.numbers.find((one) => one.name === name)?.value ?? Number.NaN;
        const primed = reckoned.strokePrimed.reduce((sum, one) => sum + one, 0);
        expect(number("contacts")).toBe(reckoned.contactMicros.length);
        expect(number("primed")).toBe(primed);
        expect(number("paced")).toBe(reckoned.strokeMicros.length - primed);
        const shed = reckoned.shed.reduce((sum, one) => sum + one.strokes, 0);
        expect(number("earned")).toBe(number("paced") + number("owed") + shed);
        const { strokes, contacts } = valuesOf(texts).settings;
        expect(number("earned")).toBe(Math.floor((number("contacts") * strokes) / contacts));
      }),
      { numRuns: 30 },
    );
  });

  test("a day without one contact says so and divides by nothing", () => {
    const day = dayOf({ "contact-volume": "90 m3" });
    expect(day.says).toBe("Not one contact closes in this day, so nothing is fed.");
    expect(day.numbers.filter(({ value }) => value !== null && !Number.isFinite(value))).toEqual([]);
  });

  test("the ratios on offer are the plan's best and the whole numbers on either side", () => {
    expect(dayOf({}).offers.map(({ ratio }) => ratio)).toEqual(["3:2", "2:1", "1:1"]);
    expect(dayOf({ "stroke-volume": "0.96 mL" }).offers.map(({ ratio }) => ratio)).toEqual(["1:4"]);
  });
});

describe("answers", () => {
  test("why 3:2 is better than 2:1: what 2:1 would miss, from the state", () => {
    expect(answer({}, "ratio")).toMatchObject({ question: "Why is 3:2 better than 2:1 here?" });
    expect(answer({}, "ratio").guess.value).toBeCloseTo(100 / 3, 9);
    expect(answer({ "stroke-volume": "0.2 mL" }, "ratio").question).toBe("Why is 6:5 better than 1:1 here?");
    expect(answer({ "stroke-volume": "0.12 mL" }, "ratio").question).toBe(
      "Why does 2:1 need no finer ratio here?",
    );
  });

  test("what the cap does: strokes asked for at peak, and what is shed", () => {
    expect(answer({}, "cap").guess.value).toBe(9);
    expect(answer({ peak: "120 L/min" }, "cap").guess.value).toBe(18);
    const bitten = dayOf({ cap: "6" });
    const shed = bitten.numbers.find(({ name }) => name === "shed_limit")?.shown ?? "";
    expect(
      bitten.answers
        .find(({ id }) => id === "cap")
        ?.lines.map(({ says }) => says)
        .join(" "),
    ).toContain(`Beyond the limit ${shed} strokes are shed`);
  });

  test("what a long divide does: the longest stretch between strokes at the lowest flow", () => {
    const { input } = valuesOf({ pattern: "trickle" });
    const low = input.low ?? input.peak;
    const duty = { contactVolume: input.contactVolume, capPerMinute: input.capPerMinute };
    const layout = { cadence: "spread", grace: input.terms?.layout?.grace } as never;
    const { longest } = spacingAt({ strokes: 1, contacts: 10 }, low, duty, layout);
    expect(answer({ pattern: "trickle" }, "divide").guess.value).toBe(numberIn(longest.time, "min"));
  });

  test("why still water must not be dosed: the milligrams of one stroke", () => {
    expect(answer({}, "still").guess.value).toBe(8);
    expect(answer({ strength: "25 g/L" }, "still").guess.value).toBe(4);
  });

  test("whatever is set, every answer has words and a number, and its shows are sound and within the day", () => {
    fc.assert(
      fc.property(anyTexts, (texts) => {
        for (const { lines, guess, shows, question } of dayOf(texts).answers) {
          expect(question).toMatch(/\?$/);
          expect(Number.isFinite(guess.value)).toBe(true);
          expect(lines.map(({ says }) => says).join(" ")).not.toMatch(/NaN|undefined|Infinity/);
          for (const show of shows) {
            expect(readTexts({ ...texts, ...show.texts })).toMatchObject({ ok: true });
            expect(show.atMicros ?? 0).toBeLessThanOrEqual(86_400e6);
          }
        }
      }),
      { numRuns: 30 },
    );
  });
});
