/**
 * Does the device's end keep to the page in numbers, repetitions, queue, and what it says again?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { checkedLine } from "../../harness/link/line.js";
import { Bench } from "./bench.js";

const SMALL = { ...MOCK_PROFILE, queue: 4, window: 2, keep: 0 };
const SETUP = [
  "hello 1",
  "set strokes 1",
  "set contacts 1",
  "set leastSpacingMicros 1000",
  "set cadence prompt",
];
const LF = 0x0a;

function started(bench: Bench): Bench {
  expect(bench.say(...SETUP, "begin stepped")).toMatch(/^ok 5 0 0$/);
  return bench;
}

test("before hello only hello is expected, and a damaged line is named", () => {
  const bench = new Bench();
  const from = bench.text.length;
  bench.lines("1 time", "0 time");
  bench.raw("time\n");
  bench.raw(`${"x".repeat(64)}\n`);
  bench.raw("\x07\n");
  bench.lines("time", "0 hello 0");
  expect(bench.since(from)).toEqual([
    "no - order 0",
    "no - order 0",
    "no - check",
    "no - long",
    "no - byte",
    "no - word",
    "no 0 value",
  ]);
});

test.each([1, 2, 16])(
  "with a window of %i each of the last as many requests is answered alike and done once, older ones are not",
  (window) => {
    const bench = started(new Bench({ profile: { ...MOCK_PROFILE, window } }));
    const from = bench.text.length;
    const asked = Array.from({ length: 40 }, (_, i) => `${6 + i} do contact`);
    for (const text of asked) bench.lines(text);
    const answers = bench.since(from).filter((text) => text.startsWith("ok"));
    expect(answers).toHaveLength(40);
    const again = bench.text.length;
    bench.lines(...asked);
    const refused = Array.from({ length: 40 - 33 }, () => "no - order 46");
    expect(bench.since(again)).toEqual([...refused, ...answers.slice(-window)]);
    expect(bench.lines("47 time")).toMatchObject([{ kind: "no", reason: "order", words: "46" }]);
    expect(bench.lines("46 time")).toMatchObject([{ kind: "ok", number: 46 }]);
  },
);

test("request numbers go on at 1 after 65535, and a line cut at a number is refused for its number", () => {
  const bench = new Bench();
  bench.say("hello 1");
  const wrong: string[] = [];
  for (let i = 1; i <= 65_540; i++) {
    const number = ((i - 1) % 65_535) + 1;
    if (number === 56_551) {
      const cut = Buffer.from(checkedLine("56551 time"), "latin1");
      cut[3] = LF;
      const from = bench.text.length;
      bench.raw(cut);
      expect(bench.since(from)).toEqual(["no - check", "no - order 56551"]);
    }
    const [answer] = bench.lines(`${number} time`);
    if (answer?.kind !== "ok" || answer.number !== number) wrong.push(JSON.stringify(answer));
    bench.text = "";
  }
  expect(wrong).toEqual([]);
});

test("report numbers go on at 1 after 65535, and those around that can be had again", () => {
  const bench = started(new Bench({ profile: { ...MOCK_PROFILE, keep: 8 } }));
  for (let i = 1; i <= 65_538; i++) {
    bench.text = "";
    bench.ask({ verb: "tell" });
  }
  const from = bench.text.length;
  expect(bench.say("again 65531")).toMatch(/^ok \d+ 3$/);
  expect(bench.since(from).map((text) => text.split(" ")[0])).toEqual([
    "65531",
    "65532",
    "65533",
    "65534",
    "65535",
    "1",
    "2",
    "3",
    "ok",
  ]);
  expect(bench.say("again 65530")).toMatch(/^no \d+ value$/);
  expect(bench.say("again 4")).toMatch(/^no \d+ value$/);
});

test("what is sent again is what was sent, from any number that is kept, the greeting too", () => {
  const bench = new Bench({ profile: { ...MOCK_PROFILE, keep: 20 } });
  const greeting = bench.text.length;
  bench.say("hello 1");
  const greeted = bench.since(greeting).slice(0, -1);
  const from = bench.text.length;
  bench.say("again 3");
  expect(bench.since(from).slice(0, -1)).toEqual(greeted.slice(2));

  expect(bench.say(...SETUP.slice(1), "begin stepped")).toBe("ok 6 0 0");
  const start = bench.text.length;
  for (let i = 0; i < 20; i++) bench.say("do contact");
  const reports = bench.since(start).filter((text) => /^\d/.test(text));
  const last = reports.length;
  expect(last).toBeGreaterThan(40);
  for (const first of [last, last - 7, last - 19]) {
    const at = bench.text.length;
    bench.say(`again ${first}`);
    expect(bench.since(at).slice(0, -1)).toEqual(reports.slice(first - 1));
  }
  for (const first of [last - 20, last + 1]) expect(bench.say(`again ${first}`)).toMatch(/^no \d+ value$/);
});

test("nothing is kept where nothing is promised", () => {
  const bench = started(new Bench({ profile: SMALL }));
  bench.say("do contact");
  expect(bench.say("again 1")).toBe("no 7 value");
});

test("a queue of 4 behind a window of 2 is never full for a bench that keeps the rules", () => {
  fc.assert(
    fc.property(
      fc.array(fc.record({ after: fc.nat({ max: 5_000 }), pair: fc.boolean(), goes: fc.boolean() }), {
        maxLength: 60,
      }),
      (steps) => {
        const bench = started(new Bench({ profile: SMALL }));
        let number = 6;
        let atTicks = 0;
        let asked = 0;
        let done = 0;
        const count = (texts: readonly string[]): void => {
          done += texts.filter((text) => / did /.test(text)).length;
          expect(texts.filter((text) => text.startsWith("no"))).toEqual([]);
        };
        const send = (...texts: readonly string[]): void => {
          const from = bench.text.length;
          bench.lines(...texts);
          count(bench.since(from));
        };
        for (const { after, pair, goes } of steps) {
          if (goes || asked - done > 2) send(`${number++} go ${atTicks}`);
          else {
            atTicks += after;
            const texts = [`${number++} at ${atTicks} contact`];
            if (pair) texts.push(`${number++} at ${atTicks} contact`);
            asked += texts.length;
            send(...texts);
          }
        }
        send(`${number} go ${atTicks}`);
        expect(done).toBe(asked);
      },
    ),
    { numRuns: 200 },
  );
});

test("the fifth input of a queue of 4 finds it full and is not done, and after one is done there is room again", () => {
  const bench = started(new Bench({ profile: SMALL }));
  for (const at of [10, 20, 30]) bench.say(`at ${at} contact`);
  expect(bench.say("at 40 contact")).toBe("ok 9 0");
  expect(bench.say("at 50 contact")).toBe("no 10 full");
  expect(bench.say("at 30 contact")).toBe("no 11 value");
  const from = bench.text.length;
  bench.say("go 10");
  expect(bench.say("at 50 hold-on")).toMatch(/^ok 13 /);
  bench.say("go 1000");
  expect(
    bench
      .since(from)
      .filter((text) => / did /.test(text))
      .map((text) => text.replace(/^\d+ /, "")),
  ).toEqual(["did 10 6", "did 20 7", "did 30 8", "did 40 9", "did 50 13"]);
});

test("after bye, and after a bye that had to be repeated, a person may type again, and not before", () => {
  const bench = started(new Bench());
  const refused = [{ kind: "no", reason: "check" }];
  expect(bench.raw("time\n")).toMatchObject(refused);
  expect(bench.say("bye")).toBe("ok 6 0");
  expect(bench.raw("time\n")).toMatchObject([{ kind: "ok", number: undefined }]);
  bench.lines("6 bye");
  expect(bench.raw("time\r\n")).toMatchObject([{ kind: "ok", number: undefined }]);
  bench.lines("7 time");
  expect(bench.raw("time\n")).toMatchObject(refused);
});

test("a person's session needs neither numbers nor checks", () => {
  const bench = new Bench();
  const typed = [
    "hello 7",
    "set strokes 3",
    "set contacts 2",
    "set leastSpacingMicros 100000",
    "set cadence prompt",
  ];
  for (const text of typed) bench.raw(`${text}\r\n`);
  const from = bench.text.length;
  for (const text of ["begin stepped", "at 1000000 contact", "go 1050000", "bye"]) bench.raw(`${text}\n`);
  expect(bench.since(from)).toEqual([
    "ok - 0 0",
    "ok - 0",
    "1 did 1000000 -",
    "2 counted 1000000 contacts=1 earned=1",
    "3 paced 1000000",
    "4 status 1000000 earned=1 paced=1 primed=0 owed=0 shed=0 remainder=1",
    "ok - 4 1050000",
    "ok - 4",
  ]);
});
