/**
 * Do runs at the device's end begin, change, go dark, come late and end as the page says?
 */
import { expect, test } from "vitest";
import { fixtureProfile, MOCK_PROFILE, openMockTransport } from "../../harness/devices/mock.js";
import { checkedLine } from "../../harness/link/line.js";
import { Bench } from "./bench.js";

const SETUP = [
  "hello 1",
  "set strokes 2",
  "set contacts 1",
  "set leastSpacingMicros 1000",
  "set cadence prompt",
];

/** The lines that came of some requests, without their numbers. */
function told(bench: Bench, ...requests: readonly string[]): string[] {
  const from = bench.text.length;
  bench.say(...requests);
  return bench.since(from).map((text) => text.replace(/^(ok |no )?(\d+) /, "$1"));
}

function strokesOf(texts: readonly string[]): number[] {
  return texts.flatMap((text) => {
    const [, ticks] = /^(?:paced|primed|stroke) (\d+)/.exec(text) ?? [];
    return ticks === undefined ? [] : [Number(ticks)];
  });
}

test("settings come into force as they are staged when their input acts", () => {
  const bench = new Bench();
  bench.say(...SETUP, "begin stepped", "at 5000 settings confirmed", "at 6000 contact");
  expect(bench.say("set strokes 3")).toMatch(/^ok/);
  const lines = told(bench, "go 100000");
  expect(lines).toContain("counted 6000 contacts=1 earned=3");
});

test("settings that do not fit each other are refused when asked for, and a fault when they act", () => {
  const bench = new Bench();
  bench.say(...SETUP, "begin stepped");
  bench.say("set primeSpacingMicros 10");
  expect(bench.say("at 5000 settings confirmed")).toBe("no 7 settings primeSpacingMicros");
  expect(bench.say("begin stepped")).toBe("no 8 settings primeSpacingMicros");
  // What was refused has changed nothing: the run is still on.
  expect(told(bench, "do contact")).toContain("counted 0 contacts=1 earned=2");

  bench.say("set primeSpacingMicros 1000", "at 5000 settings confirmed", "set primeSpacingMicros 10");
  expect(told(bench, "go 9000").slice(-2)).toEqual([
    "fault 5000 primeSpacingMicros was staged so that it cannot come into force",
    "ok 5 9000",
  ]);
  expect(told(bench, "do contact")).toEqual(["ok 5"]);
});

test.each([
  ["set strokes 0", "value"],
  ["set strokes 65536", "value"],
  ["set strokes 1.5", "value"],
  ["set cadence slow", "value"],
  ["set strokeBasis full", "word"],
  ["set colour red", "word"],
  ["set __proto__ 1", "word"],
  ["do contact", "state"],
  ["at 5 contact", "state"],
  ["go 5", "state"],
  ["tell", "state"],
  ["begin free", "value"],
  ["lag 2147483648", "value"],
])("%s without a run is answered with %s", (request, reason) => {
  const bench = new Bench();
  bench.say("hello 1");
  expect(bench.say(request)).toBe(`no 1 ${reason}`);
});

test("a begin ends the run before it, and hello forgets what was staged", () => {
  const bench = new Bench();
  bench.say(...SETUP, "begin stepped", "at 50 contact");
  expect(bench.say("clock 7")).toBe("no 7 state");
  expect(bench.say("begin stepped")).toBe("ok 8 0 0");
  expect(told(bench, "go 100000")).toEqual(["ok 0 100000"]);
  bench.say("hello 2");
  expect(bench.say("begin stepped")).toMatch(/^no 1 settings /);
});

test("a time half the range ahead is far, one that has passed is late, and none is past the width", () => {
  const bench = new Bench({ profile: { ...MOCK_PROFILE, width: 16 } });
  bench.say(...SETUP, "clock 60000", "begin stepped");
  expect(bench.say("at 65536 contact")).toBe("no 7 value");
  expect(bench.say("at 27232 contact")).toBe("no 8 far");
  expect(bench.say("at 27233 contact")).toBe("no 9 late 60000");
  expect(bench.say("at 59999 contact")).toBe("no 10 late 60000");
  expect(bench.say("at 60000 contact")).toBe("ok 11 0");
  expect(bench.say("at 27231 contact")).toBe("ok 12 0");
  expect(bench.say("at 27230 contact")).toBe("no 13 value");
  expect(strokesOf(told(bench, "go 10000", "go 27231"))).toEqual([60_000, 61_000, 27_231]);
});

test("with lag the strokes come late, never by more than was asked for, the same way twice", () => {
  const run = (lag: number): number[] => {
    const bench = new Bench();
    bench.say(...SETUP, `lag ${lag}`, "begin stepped");
    for (let i = 1; i <= 20; i++) bench.say(`at ${i * 50_000} contact`);
    return strokesOf(told(bench, "go 2000000"));
  };
  const onTime = run(0);
  const late = run(700);
  expect(onTime).toHaveLength(40);
  // The second stroke of each contact is woken for; it may be late by the lag of its own wake-up alone.
  const lateness = late.map((at, i) => at - (onTime[i] ?? NaN));
  expect(Math.min(...lateness)).toBe(0);
  expect(Math.max(...lateness)).toBeGreaterThan(350);
  expect(Math.max(...lateness)).toBeLessThanOrEqual(700);
  expect(run(700)).toEqual(late);
});

test("in the dark nothing strokes, and when the power is back what was owed too long is shed", () => {
  const bench = new Bench();
  bench.say(...SETUP, "begin stepped", "at 10000 contact", "at 10500 power-off", "at 20000 contact");
  bench.say("at 500000 power-on dark-unknown", "at 600000 contact");
  expect(told(bench, "go 700000").filter((text) => !/status/.test(text))).toEqual([
    "did 10000 6",
    "counted 10000 contacts=1 earned=2",
    "paced 10000",
    "did 10500 7",
    "did 20000 8",
    "did 500000 9",
    "shed 500000 cause=power strokes=1",
    "alarm-on 500000 shed-at-restart",
    "did 600000 10",
    "counted 600000 contacts=1 earned=2",
    "paced 600000",
    "alarm-off 600000 shed-at-restart",
    "paced 601000",
    "ok 18 700000",
  ]);
});

test("a fixture tells what it did and the strokes that it sees, and takes no settings", () => {
  const byHand = { strokes: 2, contacts: 1, leastSpacingMicros: 1_000, cadence: "prompt" } as const;
  const bench = new Bench({ profile: fixtureProfile(byHand) });
  const greeting = told(bench, "hello 1");
  expect(greeting).toContain("is role fixture");
  expect(greeting).toContain("is settings none");
  expect(bench.say("set strokes 3")).toBe("no 1 word");
  expect(told(bench, "begin stepped", "do prime-on", "tell")).toEqual(["ok 0 0", "no word", "no word"]);
  expect(told(bench, "at 500 contact", "go 9000")).toEqual([
    "ok 0",
    "did 500 5",
    "stroke 500",
    "stroke 1500",
    "ok 3 9000",
  ]);
});

test("on a coarse counter a stroke is told at its whole tick", () => {
  const bench = new Bench({ profile: { ...MOCK_PROFILE, ticksPerSecond: 1_024, width: 24 } });
  bench.say(...SETUP.slice(0, 3), "set leastSpacingMicros 100000", "set cadence prompt", "begin stepped");
  // 0.1 s is 102.4 ticks: the stroke comes with the first tick that is not too soon.
  expect(strokesOf(told(bench, "at 1000 contact", "go 5000"))).toEqual([1_000, 1_103]);
});

test("a controller that throws, at its start or later, is a fault, and the link goes on", () => {
  const throwing = new Bench({
    start: () => {
      throw new Error("no memory");
    },
  });
  expect(throwing.say(...SETUP, "begin stepped")).toBe("ok 5 1 0");
  expect(throwing.text).toContain("1 fault 0 no memory*");
  expect(throwing.say("do contact", "end")).toMatch(/^ok 7/);

  const later = new Bench({
    start: () => ({
      give: () => {
        throw new Error("stack, overflow");
      },
      end: () => undefined,
    }),
  });
  later.say(...SETUP, "begin stepped");
  expect(told(later, "at 700 contact", "go 1000")).toEqual([
    "ok 0",
    "fault 700 stack, overflow",
    "ok 1 1000",
  ]);
});

test("a fault that a controller tells of itself is told, though no profile lists it", () => {
  const bench = new Bench({
    start: (_, sink) => ({
      give: ({ atMicros }) => {
        sink({ kind: "fault", atMicros, message: "snapshot refused" });
      },
      end: () => undefined,
    }),
  });
  bench.say(...SETUP, "begin stepped");
  expect(told(bench, "at 700 contact", "go 1000")).toEqual([
    "ok 0",
    "fault 700 snapshot refused",
    "ok 1 1000",
  ]);
});

test("a session through the mock port is byte for byte that of the device's end alone", async () => {
  const texts = [
    "0 hello 9",
    "1 set strokes 2",
    "2 set contacts 1",
    "3 set leastSpacingMicros 1000",
    "4 begin stepped",
    "5 at 10 contact",
    "6 at 20 prime-on",
    "7 at 90000 prime-off",
    "8 go 1000000",
    "9 tell",
    "10 again 2",
    "11 bye",
  ];
  const bench = new Bench();
  bench.lines(...texts);
  const twice = await Promise.all(
    [0, 1].map(async () => {
      const transport = await openMockTransport();
      let text = "";
      const whole = new Promise<void>((done) => {
        transport.onBytes((bytes) => {
          text += Buffer.from(bytes).toString("latin1");
          if (text.includes("\nok 11 ")) done();
        });
      });
      for (const each of texts) await transport.send(Buffer.from(checkedLine(each)));
      await whole;
      await transport.close();
      return text;
    }),
  );
  expect(twice).toEqual([bench.text, bench.text]);
});
