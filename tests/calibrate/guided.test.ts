/**
 * Does a guided test take what a person types, ask again what is wrong, and keep whatever ends it?
 */
import { PassThrough } from "node:stream";
import { expect, test } from "vitest";
import { type Asker, openAsker } from "../../harness/calibrate/asker.js";
import { type GuidedTest, guidedTest } from "../../harness/calibrate/guided.js";
import { type DrawdownTrial, numberIn, quantity } from "../../lib/dosing/index.js";

interface Guided extends GuidedTest {
  readonly said: string;
  readonly keeps: readonly number[];
}

/** Answers in order, then the end of input. */
async function guided(answers: readonly string[], given?: string): Promise<Guided> {
  const left = [...answers];
  let said = "";
  const keeps: number[] = [];
  const asker: Asker = {
    ask: (question) => {
      const answer = left.shift();
      said += `${question}${answer ?? "<end>"}\n`;
      return Promise.resolve(answer);
    },
    cancel: () => undefined,
    isCancelled: false,
  };
  const test = await guidedTest({
    asker,
    talk: (text) => (said += text),
    graduation: given === undefined ? undefined : quantity("volume", given, "mL"),
    onTrials: (trials) => keeps.push(trials.length),
  });
  return { ...test, said, keeps };
}
const plain = (trials: readonly DrawdownTrial[]): unknown =>
  trials.map(({ strokes, drawn, ratePerMinute }) => [
    strokes,
    numberIn(drawn, "mL"),
    ratePerMinute?.valueOf(),
  ]);

test("two trials at one rate: Enter keeps the rate, Enter at the strokes ends the test", async () => {
  const { trials, graduation, end, said, keeps } = await guided([
    "1 mL",
    "300",
    "102",
    "120",
    "300",
    "101.5",
    "",
    "",
  ]);
  expect(plain(trials)).toEqual([
    [300, 102, 120],
    [300, 101.5, 120],
  ]);
  expect([graduation && numberIn(graduation, "mL"), end, keeps]).toEqual([1, "done", [1, 2]]);
  expect(said).toContain("Strokes per minute (Enter: 120): ");
  expect(said).toContain("  0.34 mL per stroke\n");
});

test("a rate that nobody knows is not asked for again", async () => {
  const { trials, said } = await guided(["", "300", "102", "", "300", "101", ""]);
  expect(plain(trials)).toEqual([
    [300, 102, undefined],
    [300, 101, undefined],
  ]);
  expect(said.split("Strokes per minute")).toHaveLength(2);
});

test("a graduation that was given is not asked for", async () => {
  const { said, graduation } = await guided(["300", "102", "", ""], "2");
  expect(said).not.toContain("two marks");
  expect(graduation && numberIn(graduation, "mL")).toBe(2);
});

test.each([
  ["2 fl oz", 59.147059125],
  ["0.1 L", 100],
  ["100", 100],
  ["100 ml", 100],
  ["0.02 gal", 75.70823568],
])("a volume of %s is %d mL", async (text, expected) => {
  const { trials } = await guided(["", "300", text, "", ""]);
  expect(numberIn((trials[0] as DrawdownTrial).drawn, "mL")).toBeCloseTo(expected, 9);
});

test.each([
  ["strokes", ["", "many", "300", "102", "", ""], '"many" is no whole number'],
  ["no answer", ["", "", "300", "102", "", ""], "is empty"],
  ["volume", ["", "300", "lots", "102", "", ""], '"lots" does not start with a number'],
  ["unit", ["", "300", "102 mg", "102", "", ""], '"mg" is not a unit of volume'],
  ["nothing drawn", ["", "300", "0 mL", "102", "", ""], "air-locked"],
  ["rate", ["", "300", "102", "fast", "", ""], '"fast" is no rate'],
  ["volume that does not go with the strokes", ["", "300", "9 m3", "102", "", ""], "too large a stroke"],
])("a wrong answer is told and asked again: %s", async (_, answers, fault) => {
  const { trials, said } = await guided(answers);
  expect(plain(trials)).toEqual([[300, 102, undefined]]);
  expect(said.replace(/\s+/g, " ")).toContain(fault);
});

test("undo takes the last trial back, and at the first there is nothing to take back", async () => {
  const { trials, keeps, said } = await guided([
    "",
    "undo",
    "300",
    "999",
    "60",
    "undo",
    "300",
    "102",
    "120",
    "",
  ]);
  expect(plain(trials)).toEqual([[300, 102, 120]]);
  expect(keeps).toEqual([1, 0, 1]);
  expect(said).toContain('"undo" is no whole number');
});

test.each([
  ["at the volume", ["", "30", "undo", "300", "102", "120", ""]],
  ["at the rate", ["", "300", "10", "undo", "300", "102", "120", ""]],
])("undo %s begins the trial anew", async (_, answers) => {
  const { trials, keeps } = await guided(answers);
  expect([plain(trials), keeps]).toEqual([[[300, 102, 120]], [1]]);
});

test.each([
  ["before the first question", [], [], undefined],
  ["before the first trial", ["1 mL"], [], undefined],
  ["after the strokes", ["", "300"], [], "300 strokes"],
  ["after the volume", ["", "300", "102"], [], "300 strokes, 102 mL"],
  ["between trials", ["", "300", "102", "60"], [[300, 102, 60]], undefined],
  ["in the second", ["", "300", "102", "60", "1"], [[300, 102, 60]], "1 stroke"],
])("input that ends %s loses nothing that was typed", async (_, answers, whole, half) => {
  const test = await guided(answers);
  expect([plain(test.trials), test.half, test.end]).toEqual([whole, half, "input ended"]);
});

test("what can hurt is said before the first question", async () => {
  const { said } = await guided([]);
  const flat = said.replace(/\s+/g, " ");
  for (const caution of [
    "eye protection",
    "acid, ammonia",
    "pressure off the discharge line",
    "Water will do",
  ]) {
    expect(flat.indexOf(caution)).toBeGreaterThan(-1);
    expect(flat.indexOf(caution)).toBeLessThan(flat.indexOf("two marks"));
  }
});

test("answers that come all at once are answers to one question each, in order", async () => {
  const input = new PassThrough();
  const output = new PassThrough();
  const asker = openAsker({ input, output, onInterruptKey: () => undefined });
  input.end("one\n two \nthree");
  const answers = [
    await asker.ask("1? "),
    await asker.ask("2? "),
    await asker.ask("3? "),
    await asker.ask("4? "),
  ];
  expect(answers).toEqual(["one", "two", "three", undefined]);
  expect(String(output.read())).toBe("1? one\n2?  two \n3? three\n4? \n");
});

test("cancelling answers whoever is waiting, and whoever asks after", async () => {
  const asker = openAsker({
    input: new PassThrough(),
    output: new PassThrough(),
    onInterruptKey: () => undefined,
  });
  const waiting = asker.ask("? ");
  asker.cancel();
  expect([await waiting, await asker.ask("? "), asker.isCancelled]).toEqual([undefined, undefined, true]);
});
