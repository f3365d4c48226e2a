/**
 * What does the firmware do on a free clock, at its pins and over the link? In virtual time, on a board that follows a script.
 */
import fc from "fast-check";
import { fileURLToPath } from "node:url";
import { expect } from "vitest";
import { runs } from "../support/runs.js";
import { compileNative, converse, nativeTest } from "./link-kit.js";

const BOARD = fileURLToPath(new URL("scripted-board.c", import.meta.url));
const controller = compileNative({ board: BOARD });
const fixture = compileNative({ board: BOARD, role: "fixture" });

const SECOND = 15_625;
const CONTACT = 1;
const PRIME = 2;
const HOLD = 4;
const PERMISSION_MISSING = 8;
const STROKE_SEEN = 16;
/** 50 ms in ticks, rounded down. */
const PULSE = 781;
/** Prompt pacing 1:1, 500 ms: from here on reports are those of the run, and its counter is the board's less 1000. */
const BEGIN = ["0 send hello 7", "0 send set cadence prompt", "1000 send begin free"];

/** What a program says to a script, from the run on: without checks, answers to requests left out. */
function told(program: string, script: readonly string[]): string[] {
  const said = converse(program, Buffer.from([...script, ""].join("\n"), "latin1"))
    .split("\n")
    .slice(0, -1);
  return said
    .map((line) => line.replace(/\*[0-9A-F]{4}$/, ""))
    .filter((line) => !/^(boot|\d+ is|ok) /.test(line))
    .map((line) => line.replace(/^\d+ /, ""));
}
const only = (lines: readonly string[], kinds: RegExp): string[] => lines.filter((line) => kinds.test(line));

nativeTest(
  "a closure at the pin counts once it has qualified, and its stroke drives the pump's pin for 50 ms",
  () => {
    const lines = told(controller, [...BEGIN, `5000 pins ${CONTACT}`, "6000 pins 0", "20000 end"]);
    expect(lines).toEqual([
      "# 5157 0 1",
      "counted 4157 contacts=1 earned=1",
      "paced 4157",
      "status 4157 earned=1 paced=1 primed=0 owed=0 shed=0 remainder=0",
      `# ${5157 + PULSE} 0 0`,
    ]);
  },
);

nativeTest("prime, hold and permission at the pins do what they do over the link", () => {
  const script = [
    `${1 * SECOND} pins ${PRIME}`,
    `${2 * SECOND} pins ${PRIME | HOLD}`,
    `${3 * SECOND} pins 0`,
    `${4 * SECOND} pins ${PERMISSION_MISSING}`,
    `${5 * SECOND} send do contact`,
    `${6 * SECOND} pins 0`,
    `${7 * SECOND} send do contact`,
    `${8 * SECOND} end`,
  ];
  const lines = only(told(controller, [...BEGIN, ...script]), /^(primed|paced|shed|alarm|ignored)/);
  expect(lines).toEqual([
    `primed ${1 * SECOND - 1000}`,
    `primed ${1 * SECOND - 1000 + 7813}`,
    `shed ${5 * SECOND - 1000} cause=inhibit strokes=1`,
    `alarm-on ${5 * SECOND - 1000} shed-in-inhibit`,
    `alarm-off ${6 * SECOND - 1000} shed-in-inhibit`,
    `paced ${7 * SECOND - 1000}`,
  ]);
});

nativeTest(
  "what changes at the pins in the dark shows when the power is back, and a pulse ends with the power",
  () => {
    const script = [
      ...[`5000 pins ${CONTACT}`, "5300 send do power-off", `6000 pins ${HOLD}`],
      ...["20000 send do power-on dark-known", "30000 send do contact", "40000 end"],
    ];
    expect(only(told(controller, [...BEGIN, ...script]), /^(#|counted|paced|ignored|shed)/)).toEqual([
      ...["# 5157 0 1", "counted 4157 contacts=1 earned=1", "paced 4157", "# 5300 0 0"],
      "ignored 29000 contacts=1",
    ]);
  },
);

nativeTest("no pulse is longer than half of the least spacing", () => {
  const script = ["0 send set leastSpacingMicros 20000", ...BEGIN, "5000 send do prime-on", "6000 end"];
  const pulses = only(
    told(controller, ["0 send hello 7", ...script.filter((line) => !/hello/.test(line))]),
    /^#/,
  );
  expect(pulses.slice(0, 4)).toEqual(["# 5000 0 1", "# 5156 0 0", "# 5313 0 1", "# 5469 0 0"]);
});

nativeTest("a stepped run looks at no pin and drives none", () => {
  const script = [
    "0 send hello 7",
    "0 send begin stepped",
    "10 pins 7",
    "20 send do prime-on",
    "30 send go 90000",
  ];
  const lines = told(controller, [...script, "40 end"]);
  expect(only(lines, /^#|cause|ignored/)).toEqual([]);
  expect(only(lines, /^primed/).length).toBeGreaterThan(5);
});

nativeTest.each([
  ["end", "end"],
  ["a greeting", "hello 8"],
  ["bye", "bye"],
])("after %s nothing strokes any more, and a pulse that is on ends at once", (_, request) => {
  const lines = told(controller, [...BEGIN, "5000 send do prime-on", `5100 send ${request}`, "90000 end"]);
  expect(only(lines, /^(#|primed)/)).toEqual(["# 5000 0 1", "primed 4000", "# 5100 0 0"]);
});

nativeTest(
  "a run in which no line has come for 10 s ends by itself with a fault; with lines it goes on",
  () => {
    const heard = Array.from({ length: 4 }, (_, i) => `${1000 + (i + 1) * 9 * SECOND} send time`);
    const script = [...BEGIN, "2000 send do prime-on", ...heard, `${100 * SECOND} end`];
    const lines = told(controller, script);
    const ended = 36 * SECOND + 10 * SECOND;
    expect(only(lines, /^fault/)).toEqual([`fault ${ended} no line has come for 10 s`]);
    expect(lines.at(-1)).not.toMatch(/^primed/);
    expect(only(lines, /^primed/).length).toBeGreaterThan(80);
  },
);

nativeTest(
  "inputs of the queue act at their times, across the wrap of the board's counter and of the link's",
  () => {
    const script = [
      `${2 ** 32 - 5000} start`,
      `${2 ** 32 - 5000} send hello 7`,
      `${2 ** 32 - 5000} send set cadence prompt`,
      `${2 ** 32 - 5000} send clock 4294965296`,
      `${2 ** 32 - 4000} send begin free`,
      `${2 ** 32 - 4000} send at 4294966296 contact`,
      `${2 ** 32 - 3900} send at 500 contact`,
      `${2 ** 32 - 3900} send at 8000 contact`,
      `${2 ** 32 + 20000} end`,
    ];
    // The link's counter is 2,000 before its wrap when the board's is 4,000 before.
    expect(only(told(controller, script), /^(did|paced|#)/)).toEqual([
      "did 4294966296 -",
      `# ${2 ** 32 - 3000} 0 1`,
      "paced 4294966296",
      `# ${2 ** 32 - 3000 + PULSE} 0 0`,
      "did 500 -",
      `# ${2 ** 32 - 3000 + 7813} 0 1`,
      "paced 6813",
      `# ${2 ** 32 - 3000 + 7813 + PULSE} 0 0`,
      "did 8000 -",
      `# ${2 ** 32 - 3000 + 2 * 7813} 0 1`,
      "paced 14626",
      `# ${2 ** 32 - 3000 + 2 * 7813 + PULSE} 0 0`,
    ]);
  },
);

nativeTest("a lag makes its own wake-ups late by no more than that, and the cap holds all the same", () => {
  const script = ["0 send hello 7", "0 send lag 3000", "0 send set cadence prompt", "1000 send begin free"];
  const lines = told(controller, [...script, "2000 send do prime-on", `${9 * SECOND} end`]);
  const times = only(lines, /^primed/).map((line) => Number(line.split(" ")[1]));
  const gaps = times.slice(1).map((at, i) => at - (times[i] ?? 0));
  expect(Math.min(...gaps)).toBeGreaterThanOrEqual(7813);
  expect(Math.max(...gaps)).toBeLessThanOrEqual(7813 + 3000);
  expect(new Set(gaps).size).toBeGreaterThan(2);
});

nativeTest(
  "however slow the work is, stamps never go back, numbers have no gap, and no two strokes come too close",
  () => {
    const anyLine = fc.oneof(
      fc.constantFrom("do contact", "do prime-on", "do prime-off", "do hold-on", "do hold-off", "do wake"),
      fc.constantFrom("do close", "do open", "time", "tell", "do power-off", "do power-on dark-known"),
    );
    const anyEvent = fc.oneof(
      { weight: 3, arbitrary: anyLine.map((words) => `send ${words}`) },
      { weight: 1, arbitrary: fc.nat({ max: 15 }).map((bits) => `pins ${bits}`) },
    );
    fc.assert(
      fc.property(
        fc.nat({ max: 400 }),
        fc.array(fc.tuple(fc.nat({ max: 9_000 }), anyEvent), { minLength: 10, maxLength: 60, size: "max" }),
        (cost, events) => {
          let tick = 1000;
          const script = events.map(([after, what]) => `${(tick += after)} ${what}`);
          const bytes = [...BEGIN, `1000 cost ${cost}`, ...script, `${tick + 9_000} end`, ""].join("\n");
          const said = converse(controller, Buffer.from(bytes, "latin1"));
          const reports = [...said.matchAll(/^(\d+) ([a-z-]+) (\d+)/gm)].filter(
            ([, , kind]) => kind !== "is",
          );
          expect(reports.map(([, number]) => Number(number))).toEqual(reports.map((_, i) => i + 1));
          const times = reports.map(([, , , at]) => Number(at));
          expect(times).toEqual([...times].sort((a, b) => a - b));
          const strokes = reports.filter(([, , kind]) => kind === "paced" || kind === "primed");
          const gaps = strokes.slice(1).map(([, , , at], i) => Number(at) - Number(strokes[i]?.[3]));
          expect(gaps.filter((gap) => gap < 7813)).toEqual([]);
          expect(said.match(/^# \d+ 0 1$/gm)?.length ?? 0).toBe(strokes.length);
        },
      ),
      { numRuns: runs(60) },
    );
  },
);

nativeTest(
  "a fixture works its outputs as it is told, any cause of inhibit by the one, and tells each stroke that it sees",
  () => {
    const script = [
      ...["0 send hello 7", "1000 send begin free", "2000 send do close", "3000 send do open"],
      ...["4000 send do prime-on", "5000 send do prime-off", "6000 send do hold-on", "7000 send do hold-off"],
      ...["8000 send do inhibit-on tank", "8100 send do inhibit-on flow", "8200 send do inhibit-off tank"],
      ...[
        "8300 send do inhibit-off flow",
        `9000 pins ${STROKE_SEEN}`,
        "9500 pins 0",
        `9900 pins ${STROKE_SEEN}`,
      ],
      "10000 end",
    ];
    expect(only(told(fixture, script), /^(#|stroke)/)).toEqual([
      ...["# 2000 1 1", "# 3000 1 0", "# 4000 2 1", "# 5000 2 0", "# 6000 3 1", "# 7000 3 0"],
      ...["# 8000 4 1", "# 8300 4 0", "stroke 8000", "stroke 8900"],
    ]);
  },
);

nativeTest.each([
  ["the end of a run", ["5000 send end"], 5000],
  ["a greeting", ["5000 send hello 9"], 5000],
  ["the silence of the bench", [], 4000 + 10 * SECOND],
])("at %s a fixture lets go of everything", (_, script, at) => {
  const on = [
    "2000 send do close",
    "2000 send do prime-on",
    "3000 send do hold-on",
    "4000 send do inhibit-on tank",
  ];
  const lines = told(fixture, [
    "0 send hello 7",
    "1000 send begin free",
    ...on,
    ...script,
    `${20 * SECOND} end`,
  ]);
  expect(only(lines, /^# \d+ \d 0/)).toEqual([1, 2, 3, 4].map((output) => `# ${at} ${output} 0`));
});

nativeTest("a fixture takes no clock, input, setting or telling that its greeting does not name", () => {
  const asked = ["begin stepped", "lag 5", "set strokes 2", "begin free", "tell", "do contact", "do reset"];
  const said = told(fixture, ["0 send hello 7", ...asked.map((words) => `10 send ${words}`), "20 end"]);
  expect(said).toEqual(["no - value", "no - word", "no - word", "no - word", "no - word", "no - word"]);
});
