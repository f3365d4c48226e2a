/**
 * Is a controller that knows nothing of the bench judged through a fixture that is wired to its terminals?
 */
import { expect, onTestFinished, test } from "vitest";
import { emulatePair } from "../../harness/devices/avr-pair.js";
import { FIXTURE_IMAGE } from "../../harness/devices/avr.js";
import { putOnBench } from "../../harness/devices/avr-bench.js";
import { machineWith } from "../../harness/devices/avr-in-process.js";
import { openDevice } from "../../harness/devices/open.js";
import { InputError } from "../../harness/files/fault.js";
import { shipped } from "../../harness/files/package-root.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";
import { CONTROLLER, deviceOn } from "./avr-kit.js";

const GIVEN = { strokes: 3, contacts: 2, leastSpacingMicros: 500_000 };
const SETTINGS = sound(GIVEN);
const FIXTURE = shipped(FIXTURE_IMAGE);
const SECOND = 1_000_000;

const pair = (settings: Settings) =>
  putOnBench(emulatePair(machineWith(FIXTURE), machineWith(CONTROLLER), settings, "avr:fixture"));

test("through the fixture's pins the laws hold that can be seen from outside", async () => {
  const device = await openDevice("avr:fixture", { settings: SETTINGS });
  onTestFinished(() => device.close());
  expect(device.about).toMatchObject({ role: "fixture", spec: "avr:fixture", clock: "real" });
  const short = ["steady", "long-silence", "bounce", "hold-and-release"];
  const report = await verifyDevice(device, SETTINGS, runs(1) > 1 ? { runs: 0 } : { scenarios: short });
  expect(report.stimuli.flatMap(({ fault }) => fault ?? [])).toEqual([]);
  const answers = Object.fromEntries(report.laws.map(({ law, answer }) => [law, answer]));
  expect(answers).toMatchObject({
    proportion: "holds",
    cap: "holds",
    causality: "holds",
    silence: "holds",
    "still-water": "holds",
    totality: "holds",
  });
  expect(Object.values(answers)).not.toContain("broken");
});

test("a controller that is set otherwise than is said is caught through the pins", async () => {
  const device = await deviceOn(pair(sound({ ...GIVEN, strokes: 5 })));
  onTestFinished(() => device.close());
  const report = await verifyDevice(device, SETTINGS, {
    scenarios: ["steady"],
    shrinkLimits: { triesMost: 0, deviceMicrosMost: 0 },
  });
  const broken = report.laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
  expect(broken).toContain("causality");
});

test("a stroke of the controller is seen within a millisecond of when it is due, and the same run is the same twice", async () => {
  const stimulus: StimulusEvent[] = [2, 4].flatMap((second) => [
    { kind: "close", atMicros: second * SECOND },
    { kind: "open", atMicros: (second + 0.1) * SECOND },
  ]);
  const settings = sound({ strokes: 1, contacts: 1, leastSpacingMicros: 250_000, cadence: "prompt" });
  const traces: TraceEvent[][] = [];
  for (let i = 0; i < 2; i++) {
    const trace: TraceEvent[] = [];
    const device = await deviceOn(pair(settings));
    const job = {
      settings,
      stimulus,
      untilMicros: 6 * SECOND,
      sink: (event: TraceEvent) => trace.push(event),
    };
    expect(await device.run(job)).toEqual({ ok: true });
    await device.close();
    traces.push(trace);
  }
  expect(traces[1]).toEqual(traces[0]);
  const timesOf = (kind: string): number[] =>
    (traces[0] ?? []).filter((event) => event.kind === kind).map(({ atMicros }) => atMicros);
  const strokes = timesOf("paced");
  expect(strokes).toHaveLength(2);
  timesOf("close").forEach((closedMicros, i) => {
    const afterMicros = (strokes[i] ?? Infinity) - closedMicros - settings.closedMicros;
    expect(Math.abs(afterMicros)).toBeLessThan(1_000);
  });
});

test("settings that the controller cannot be given are bad input, and so is none", async () => {
  const unfit = sound({ ...GIVEN, graceMicros: 86_400_000_000, owedLimitStrokes: 1_000_000 });
  await expect(openDevice("avr:fixture", { settings: unfit })).rejects.toThrow(InputError);
  await expect(openDevice("avr:fixture")).rejects.toThrow(InputError);
});
