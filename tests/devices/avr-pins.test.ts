/**
 * Does the controller's image make the right strokes on its pin, from contacts on another? In cycles of 1/16 µs, on a clock that runs.
 */
import { spawnSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { machineWith } from "../../harness/devices/avr-in-process.js";
import type { Pin } from "../../harness/firmware/emulator/machine.js";
import { CONTROLLER, HOST, NO_HOST, SCRATCH } from "./avr-kit.js";

const MILLI = 16_000;
const SECOND = 1_000 * MILLI;
/** A tick of the firmware's counter. */
const TICK = 1_024;
/** Half a millisecond: a tick of waiting, and what the firmware works before it comes to the pin. */
const SLACK = 8 * TICK;
const STROKE = "PB0";
/** How long the stroke's pin is to be on, unless that is more than half of the least spacing. */
const PULSE = 50 * MILLI;

/** Something that is done to the part from outside. */
type Act =
  | { readonly at: number; readonly send: string }
  | { readonly at: number; readonly pin: Pin; readonly isHigh: boolean };

interface Pulse {
  readonly at: number;
  readonly width: number;
}

interface Level {
  readonly at: number;
  readonly pin: string;
  readonly isHigh: boolean;
}

const CONTACT: Pin = "PD2";
const PRIME: Pin = "PD3";
const HOLD: Pin = "PD4";
const MISSING: Pin = "PD5";

/** A wire that is closed for a while: low is on. */
const closed = (pin: Pin, at: number, width: number): Act[] => [
  { at, pin, isHigh: false },
  { at: at + width, pin, isHigh: true },
];

/** A run on a free clock from the end of the first second; a line in time keeps it going. */
function acts(settings: readonly string[], inputs: readonly Act[], end: number): Act[] {
  const lines = ["hello 1", ...settings.map((each) => `set ${each}`), "begin free"];
  const start = lines.map((send, i) => ({ at: (50 + i * 80) * MILLI, send }));
  const times = Array.from({ length: Math.ceil(end / (5 * SECOND)) }, (_, i) => ({
    at: (i + 1) * 5 * SECOND,
    send: "time",
  }));
  return [...start, ...times, ...inputs].sort((a, b) => a.at - b.at);
}

function levelsInProcess(script: readonly Act[], end: number): Level[] {
  const machine = machineWith(CONTROLLER);
  const levels: Level[] = [];
  machine.onPin = ({ cycle, pin, isHigh }) => levels.push({ at: cycle, pin, isHigh });
  for (const act of script) {
    machine.run(act.at);
    if ("send" in act) machine.feed(Buffer.from(`${act.send}\n`));
    else machine.setPin(act.pin, act.isHigh);
  }
  machine.run(end);
  return levels;
}

function levelsInProgram(script: readonly Act[], end: number): Level[] {
  const [from, to] = [join(SCRATCH, "script"), join(SCRATCH, "pins")];
  const lines = script.map((act) =>
    "send" in act ? `${act.at} send ${act.send}` : `${act.at} pin ${act.pin} ${act.isHigh ? 1 : 0}`,
  );
  writeFileSync(from, [...lines, `${end} end\n`].join("\n"));
  const { status, stderr } = spawnSync(HOST, ["--script", from, "--pins", to, CONTROLLER], {
    encoding: "utf8",
  });
  expect({ status, stderr }).toEqual({ status: 0, stderr: "" });
  return readFileSync(to, "utf8")
    .trimEnd()
    .split("\n")
    .map((line) => {
      const [at, pin = "", level] = line.split(" ");
      return { at: Number(at), pin, isHigh: level === "1" };
    });
}

function pulsesOf(levels: readonly Level[]): Pulse[] {
  const strokes = levels.filter(({ pin }) => pin === STROKE);
  return strokes.flatMap(({ at, isHigh }, i) =>
    isHigh ? [{ at, width: (strokes[i + 1]?.at ?? Infinity) - at }] : [],
  );
}

const gaps = (pulses: readonly Pulse[]): number[] =>
  pulses.slice(1).map(({ at }, i) => at - (pulses[i] as Pulse).at);

/** The strokes begun within a stretch. */
const within = (pulses: readonly Pulse[], from: number, to: number): number =>
  pulses.filter(({ at }) => at >= from && at < to).length;

const EMULATORS = [
  { name: "in this process", missing: undefined, levels: levelsInProcess },
  { name: "beside libsimavr", missing: NO_HOST, levels: levelsInProgram },
];
const title = (missing: string | undefined): string => (missing === undefined ? "" : ` (${missing})`);

for (const { name, missing, levels } of EMULATORS) {
  describe.skipIf(missing)(`${name}${title(missing)}`, () => {
    const play = (settings: readonly string[], inputs: readonly Act[], end: number): Pulse[] =>
      pulsesOf(levels(acts(settings, inputs, end), end));

    test("contacts on a pin bring just as many strokes as they earn, each a full pulse, never closer than the cap", () => {
      const contacts = Array.from({ length: 20 }, (_, i) => closed(CONTACT, (2 + i) * SECOND, 100 * MILLI));
      const pulses = play(
        ["strokes 3", "contacts 2", "leastSpacingMicros 250000", "cadence prompt"],
        contacts.flat(),
        25 * SECOND,
      );
      expect(pulses).toHaveLength(30);
      for (const { width } of pulses) {
        expect(width).toBeGreaterThan(PULSE - SLACK);
        expect(width).toBeLessThan(PULSE + SLACK);
      }
      expect(Math.min(...gaps(pulses))).toBeGreaterThanOrEqual(250 * MILLI - TICK);
      // It keeps to the cap where it can, and is not slower.
      expect(Math.min(...gaps(pulses))).toBeLessThan(250 * MILLI + SLACK);
    });

    test("no pulse is longer than half of the least spacing", () => {
      const contacts = Array.from({ length: 4 }, (_, i) => closed(CONTACT, (2 + i) * SECOND, 100 * MILLI));
      const pulses = play(
        ["strokes 5", "leastSpacingMicros 40000", "primeSpacingMicros 40000", "cadence prompt"],
        contacts.flat(),
        8 * SECOND,
      );
      expect(pulses).toHaveLength(20);
      for (const { width } of pulses) {
        expect(width).toBeLessThanOrEqual(20 * MILLI + TICK);
        expect(width).toBeGreaterThan(20 * MILLI - SLACK);
      }
      expect(Math.min(...gaps(pulses))).toBeGreaterThanOrEqual(40 * MILLI - TICK);
    });

    test("a bouncing contact is one, and one that is too short is none", () => {
      const bounces = [0, 3, 7].flatMap((millis) => closed(CONTACT, 2 * SECOND + millis * MILLI, MILLI));
      const pulses = play(
        ["strokes 1", "cadence prompt", "closedMicros 20000", "openMicros 20000"],
        [
          ...bounces,
          ...closed(CONTACT, 2 * SECOND + 10 * MILLI, 100 * MILLI),
          ...closed(CONTACT, 4 * SECOND, 10 * MILLI),
        ],
        6 * SECOND,
      );
      expect(pulses).toHaveLength(1);
      const [{ at }] = pulses as [Pulse];
      expect(at).toBeGreaterThanOrEqual(2 * SECOND + 30 * MILLI - TICK);
      expect(at).toBeLessThan(2 * SECOND + 30 * MILLI + SLACK);
    });

    test("prime strokes while its pin is on; hold and missing permission silence", () => {
      const pulses = play(
        ["strokes 1", "leastSpacingMicros 500000", "primeSpacingMicros 500000", "cadence prompt"],
        [
          ...closed(PRIME, 2 * SECOND, 3 * SECOND),
          ...closed(HOLD, 7 * SECOND, 3 * SECOND),
          ...closed(CONTACT, 8 * SECOND, 100 * MILLI),
          ...closed(MISSING, 12 * SECOND, 3 * SECOND),
          ...closed(CONTACT, 13 * SECOND, 100 * MILLI),
          ...closed(CONTACT, 17 * SECOND, 100 * MILLI),
        ],
        20 * SECOND,
      );
      expect(within(pulses, 2 * SECOND, 5 * SECOND + SLACK)).toBeGreaterThanOrEqual(6);
      expect(within(pulses, 5 * SECOND + SLACK, 16 * SECOND)).toBe(0);
      expect(within(pulses, 16 * SECOND, 20 * SECOND)).toBe(1);
    });
  });
}

test.skipIf(NO_HOST)(`both emulators make the same strokes, to half a millisecond${title(NO_HOST)}`, () => {
  const inputs = [2, 3, 4.5, 5.1, 9].flatMap((second) => closed(CONTACT, second * SECOND, 60 * MILLI));
  const end = 12 * SECOND;
  const script = acts(["strokes 7", "contacts 3", "leastSpacingMicros 300000"], inputs, end);
  const ours = pulsesOf(levelsInProcess(script, end));
  const theirs = pulsesOf(levelsInProgram(script, end));
  expect(theirs).toHaveLength(ours.length);
  expect(ours).toHaveLength(11);
  for (const [i, { at, width }] of ours.entries()) {
    const other = theirs[i] as Pulse;
    expect(Math.abs(other.at - at)).toBeLessThanOrEqual(SLACK);
    expect(Math.abs(other.width - width)).toBeLessThanOrEqual(SLACK);
  }
});
