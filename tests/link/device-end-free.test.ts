/**
 * Does the device's end run on a clock that does not wait for the bench?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { Bench, VirtualClock } from "./bench.js";

const PROFILE = { ...MOCK_PROFILE, clock: ["free", "settable"] as const };
const SETUP = [
  "hello 1",
  "set strokes 2",
  "set contacts 1",
  "set leastSpacingMicros 1000",
  "set cadence prompt",
];

function newFree(clock: VirtualClock, profile: Partial<typeof MOCK_PROFILE> = {}): Bench {
  const bench = new Bench({ profile: { ...PROFILE, ...profile }, clock });
  bench.say(...SETUP);
  return bench;
}

/** Kind and time of the reports since `from`. */
function reportsSince(bench: Bench, from: number, kinds: RegExp): string[] {
  return bench
    .since(from)
    .map((text) => text.replace(/^\d+ /, ""))
    .filter((text) => kinds.test(text));
}

test("inputs act at their times and strokes bear theirs, however seldom the run is looked after", () => {
  const clock = new VirtualClock();
  const bench = newFree(clock);
  clock.goTo(5_000_000);
  const from = bench.text.length;
  expect(bench.say("begin free")).toBe("ok 5 0 5000000");
  bench.say("at 5000300 contact", "at 5003500 contact");
  clock.goTo(5_100_000);
  expect(reportsSince(bench, from, /^(did|paced)/)).toEqual([
    "did 5000300 6",
    "paced 5000300",
    "paced 5001300",
    "did 5003500 7",
    "paced 5003500",
    "paced 5004500",
  ]);
  expect(bench.say("time")).toBe("ok 8 12 5100000");
  expect(bench.say("go 5200000")).toBe("no 9 state");
});

test("what comes too late is late with the counter's reading, half the range ahead is far", () => {
  const clock = new VirtualClock();
  const bench = newFree(clock, { width: 24 });
  bench.say("begin free");
  clock.goTo(3_000_000);
  expect(bench.say("at 2999999 contact")).toBe("no 6 late 3000000");
  expect(bench.say(`at ${3_000_000 + 2 ** 23} contact`)).toBe("no 7 far");
  expect(bench.say(`at ${3_000_000 + 2 ** 23 - 1} contact`)).toBe("ok 8 0");
  const from = bench.text.length;
  clock.goTo(9_000_000);
  bench.say("time");
  clock.goTo(3_000_000 + 2 ** 23 + 2_000);
  expect(reportsSince(bench, from, /^did/)).toEqual([`did ${3_000_000 + 2 ** 23 - 1} 8`]);
});

test("after 10 s without a line a run ends with a fault and nothing strokes any more, with lines it goes on", () => {
  const clock = new VirtualClock();
  const bench = newFree(clock);
  bench.say("begin free");
  for (let second = 1; second <= 30; second++) {
    clock.goTo(second * 1_000_000);
    if (second % 9 === 0) bench.say("time");
  }
  expect(bench.say("at 39000000 prime-on")).toMatch(/^ok/);
  const from = bench.text.length;
  clock.goTo(39_999_999);
  expect(reportsSince(bench, from, /^fault/)).toEqual([]);
  expect(reportsSince(bench, from, /^primed/).length).toBeGreaterThan(900);
  clock.goTo(60_000_000);
  const ended = reportsSince(bench, from, /^(fault|primed)/);
  expect(ended.at(-1)).toBe("fault 40000000 no line has come for 10 s");
  expect(ended.filter((text) => text.startsWith("fault"))).toHaveLength(1);
  expect(clock.waiting).toBe(0);
  expect(bench.say("do contact")).toMatch(/ state$/);
  expect(bench.say("begin free")).toMatch(/^ok \d+ 0 60000000$/);
  expect(clock.waiting).toBe(1);
});

test("between runs the counter runs on, can be set, and stands still in a stepped run", () => {
  const clock = new VirtualClock();
  const bench = newFree(clock, { clock: ["stepped", "free", "settable"] });
  clock.goTo(100);
  expect(bench.say("time")).toBe("ok 5 15 100");
  bench.say("clock 4294967290");
  clock.goTo(120);
  expect(bench.say("time")).toBe("ok 7 15 14");
  expect(bench.say("begin stepped")).toBe("ok 8 0 14");
  clock.goTo(20_000_000);
  expect(bench.say("time")).toBe("ok 9 0 14");
  bench.say("end");
  clock.goTo(20_000_050);
  expect(bench.say("time")).toBe("ok 11 0 64");
});

test("end, hello and the closing of the port stop the run and its looking after", () => {
  const clock = new VirtualClock();
  const bench = newFree(clock);
  for (const stop of [
    () => bench.say("end"),
    () => bench.say(...SETUP),
    () => {
      bench.close();
    },
  ]) {
    bench.say("begin free", "do prime-on");
    clock.goTo(clock.nowMicros() + 50_000);
    expect(clock.waiting).toBe(1);
    stop();
    const from = bench.text.length;
    expect(clock.waiting).toBe(0);
    clock.goTo(clock.nowMicros() + 5_000_000);
    expect(bench.since(from)).toEqual([]);
  }
});

test("where time goes on while the device works, its reports never go back, nor does the time it tells", () => {
  const request = fc.constantFrom(
    "tell",
    "time",
    "do contact",
    "do prime-on",
    "do prime-off",
    "do hold-on",
    "do wake",
  );
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 900 }),
      fc.array(fc.tuple(fc.nat({ max: 4_000 }), request), { minLength: 20, maxLength: 60, size: "max" }),
      (readMicros, steps) => {
        const clock = new VirtualClock(readMicros);
        const bench = newFree(clock);
        bench.say("begin free");
        const from = bench.text.length;
        for (const [micros, each] of steps) {
          bench.say(each);
          clock.goTo(clock.nowMicros() + micros);
        }
        const times = bench.since(from).flatMap((text) => {
          const [, stamp] = /^(?:\d+ [a-z-]+|ok \d+ \d+) (\d+)/.exec(text) ?? [];
          return stamp === undefined ? [] : [Number(stamp)];
        });
        expect(times).toEqual([...times].sort((a, b) => a - b));
      },
    ),
    { numRuns: 200 },
  );
});
