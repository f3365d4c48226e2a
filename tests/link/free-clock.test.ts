/**
 * Does a run on a clock that runs by itself give the model's trace, and is that clock known as well as is said?
 */
import { expect, test } from "vitest";
import type { JobEnd, StartRun } from "../../harness/device.js";
import { openDevice } from "../../harness/devices/open.js";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { connect } from "../../harness/link/client.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import type { ClockEstimate } from "../../harness/link/offset.js";
import type { Micros } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { endOf, skewed, VirtualClock, wire } from "./virtual-bench.js";

const SECOND: Micros = 1_000_000;
const LEAD: Micros = 300_000;
const FREE: DeviceProfile = { ...MOCK_PROFILE, clock: ["free"] };
const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000, cadence: "prompt" });

interface Played {
  /** The bench's time when the device began the run. */
  readonly beganMicros: Micros;
  readonly end: JobEnd;
  readonly trace: TraceEvent[];
  readonly lines: readonly string[];
  readonly estimate: ClockEstimate | undefined;
}

interface Bench {
  readonly profile?: DeviceProfile;
  readonly stimulus: readonly StimulusEvent[];
  readonly untilMicros: Micros;
  readonly ppm?: number;
  readonly startsAtMicros?: Micros;
  readonly delay?: () => Micros;
}

async function playVirtually(bench: Bench): Promise<Played> {
  const { profile = FREE, stimulus, untilMicros, ppm = 0, startsAtMicros = 0 } = bench;
  const clock = new VirtualClock();
  let beganMicros: Micros = -1;
  const start: StartRun = (...args) => {
    beganMicros = clock.nowMicros();
    return runModel(...args);
  };
  const { transport, lines } = wire(
    clock,
    endOf(start, profile, skewed(clock, ppm, startsAtMicros)),
    bench.delay ?? (() => 400),
  );
  const work = async (): Promise<Played> => {
    const device = await connect(transport, { clock, leadMicros: LEAD });
    const trace: TraceEvent[] = [];
    const end = await device.run({
      settings: SETTINGS,
      stimulus,
      untilMicros,
      sink: (event) => trace.push(event),
    });
    const estimate = device.clockEstimate;
    await device.close();
    return { end, trace, lines, estimate, beganMicros };
  };
  return clock.run(work(), untilMicros + 60 * SECOND);
}

/** What the model does with the same stimulus, so much later. */
function modelTrace(stimulus: readonly StimulusEvent[], untilMicros: Micros): TraceEvent[] {
  const trace: TraceEvent[] = [];
  const run = runModel(SETTINGS, (event) => trace.push(event));
  for (const event of stimulus) run.give({ ...event, atMicros: event.atMicros + LEAD });
  run.end(untilMicros + LEAD);
  return trace;
}

const contacts = (count: number, everyMicros: Micros, fromMicros = everyMicros): StimulusEvent[] =>
  Array.from({ length: count }, (_, i) => ({ kind: "contact", atMicros: fromMicros + i * everyMicros }));

const MIXED: StimulusEvent[] = [
  ...contacts(6, SECOND),
  { kind: "prime-on", atMicros: 6_500_000 },
  { kind: "contact", atMicros: 6_700_000 },
  { kind: "prime-off", atMicros: 8_000_000 },
  { kind: "inhibit-on", atMicros: 9_000_000, cause: "tank" },
  { kind: "contact", atMicros: 9_500_000 },
  { kind: "inhibit-off", atMicros: 9_900_000, cause: "tank" },
  ...contacts(5, 900_000, 10_000_000),
];

/** Delays that differ from line to line, the same every time. */
function unevenDelay(leastMicros: Micros, mostMicros: Micros): () => Micros {
  let state = 1;
  return () => {
    state = (state * 48_271) % 2_147_483_647;
    return leastMicros + (state % (mostMicros - leastMicros + 1));
  };
}

test("the trace is the model's to the µs, only later by the lead", async () => {
  const { end, trace } = await playVirtually({ stimulus: MIXED, untilMicros: 20 * SECOND });
  expect(end).toEqual({ ok: true });
  expect(trace).toEqual(modelTrace(MIXED, 20 * SECOND));
});

test("over a wire of uneven delay, with a queue of 4 and a window of 2, the trace is the same", async () => {
  const { end, trace } = await playVirtually({
    profile: { ...FREE, queue: 4, window: 2, keep: 0 },
    stimulus: MIXED,
    untilMicros: 20 * SECOND,
    delay: unevenDelay(50, 9_000),
  });
  expect(end).toEqual({ ok: true });
  expect(trace).toEqual(modelTrace(MIXED, 20 * SECOND));
});

test.each([
  [16, 1_000],
  [16, 32_768],
  [24, 1_000_000],
] as const)(
  "over a counter of %i bits at %i ticks a second, which wraps, the trace is the model's to within a tick",
  async (width, ticksPerSecond) => {
    const stimulus = contacts(90, SECOND);
    const untilMicros = 100 * SECOND;
    const { end, trace } = await playVirtually({
      profile: { ...FREE, width, ticksPerSecond },
      stimulus,
      untilMicros,
      startsAtMicros: 7 * SECOND,
    });
    expect(end).toEqual({ ok: true });
    const expected = modelTrace(stimulus, untilMicros);
    const untimed = (event: TraceEvent): TraceEvent => ({ ...event, atMicros: 0 });
    expect(trace.map(untimed)).toEqual(expected.map(untimed));
    const off = trace.map(({ atMicros }, i) => Math.abs(atMicros - (expected[i]?.atMicros ?? 0)));
    expect(Math.max(...off)).toBeLessThanOrEqual(Math.ceil(SECOND / ticksPerSecond));
  },
);

test("in a minute of silence the device is asked for the time, so that it does not end the run", async () => {
  const stimulus = contacts(2, 65 * SECOND, SECOND);
  const { end, trace, lines } = await playVirtually({ stimulus, untilMicros: 70 * SECOND });
  expect(end).toEqual({ ok: true });
  expect(trace).toEqual(modelTrace(stimulus, 70 * SECOND));
  const asked = lines.filter((line) => /^> \d+ time$/.test(line)).length;
  expect(asked).toBeGreaterThan(20);
  expect(asked).toBeLessThan(40);
});

test("an input that cannot reach the device in time is the fault `late`, and the device is left idle", async () => {
  const { end, lines } = await playVirtually({
    profile: { ...FREE, queue: 1, window: 1 },
    stimulus: contacts(20, 500),
    untilMicros: 5 * SECOND,
  });
  expect(end).toMatchObject({ ok: false, fault: { kind: "late" } });
  const idle = lines.findLastIndex((line) => /^> (0 hello|\d+ end)/.test(line));
  expect(lines.slice(idle).filter((line) => / paced \d/.test(line))).toEqual([]);
});

test("the offset is known to within what is said, however unlike the two ways of the wire are", async () => {
  const { estimate, beganMicros } = await playVirtually({
    stimulus: [],
    untilMicros: SECOND,
    startsAtMicros: 99 * SECOND,
    delay: unevenDelay(10, 8_000),
  });
  const { offsetMicros = NaN, uncertaintyMicros = NaN } = estimate ?? {};
  expect(Math.abs(offsetMicros + beganMicros)).toBeLessThanOrEqual(uncertaintyMicros);
  expect(uncertaintyMicros).toBeLessThan(8_000);
});

test("the drift of a fast clock that started elsewhere is known to within what is said", async () => {
  const ppm = 200;
  const { end, estimate } = await playVirtually({
    stimulus: contacts(60, SECOND),
    untilMicros: 70 * SECOND,
    ppm,
    startsAtMicros: 1_234 * SECOND,
    delay: unevenDelay(100, 8_000),
  });
  expect(end).toEqual({ ok: true });
  const { driftPpm = NaN, driftUncertaintyPpm = NaN } = estimate ?? {};
  expect(Math.abs(driftPpm - ppm)).toBeLessThanOrEqual(driftUncertaintyPpm);
  expect(driftUncertaintyPpm).toBeLessThan(400);
});

test("a controller in another process, in real time, strokes as its own time stamps say it should", async () => {
  const device = await openDevice("exec:node tests/bench-devices/controller.mjs --free-only");
  const trace: TraceEvent[] = [];
  const stimulus = contacts(4, 400_000);
  const end = await device.run({
    settings: SETTINGS,
    stimulus,
    untilMicros: 2_400_000,
    sink: (event) => trace.push(event),
  });
  const { clock } = device.about;
  await device.close();
  expect({ end, clock }).toEqual({ end: { ok: true }, clock: "real" });
  const times = (kind: TraceEvent["kind"]): Micros[] =>
    trace.filter((event) => event.kind === kind).map(({ atMicros }) => atMicros);
  expect(times("contact")).toHaveLength(4);
  expect(times("paced")).toHaveLength(6);
  const strokes = times("paced");
  const apart = strokes.slice(1).map((atMicros, i) => atMicros - (strokes[i] ?? 0));
  expect(Math.min(...apart)).toBeGreaterThanOrEqual(SETTINGS.leastSpacingMicros);
  const late = times("contact").map((atMicros, i) => atMicros - LEAD - (stimulus[i]?.atMicros ?? 0));
  expect(Math.min(...late)).toBeGreaterThanOrEqual(0);
});
