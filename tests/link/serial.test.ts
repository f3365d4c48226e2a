/**
 * What if a real kernel serial device is killed, stopped, unplugged, plugged in again, or held by somebody else?
 */
import { expect, onTestFinished, test } from "vitest";
import type { Device, JobEnd } from "../../harness/device.js";
import { openDevice } from "../../harness/devices/open.js";
import type { Micros } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { openPtyDevice } from "../bench-devices/pty.js";
import { run } from "../cli/kit.js";
import { sound } from "../support/arbitraries.js";
import { expectNoUnseenRejection } from "../support/rejections.js";

const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000, cadence: "prompt" });
/** Patience six times over, and what a busy machine may take. */
const END_MILLIS = 10_000;

/** The whole patience for the run, and for a greeting before each stimulus that is left. */
const VERIFY_END_MILLIS = 90_000;

expectNoUnseenRejection();

async function open(path: string): Promise<Device> {
  const device = await openDevice(`serial:${path}`, { limits: { patienceMicros: 200_000 } });
  onTestFinished(() => device.close());
  return device;
}

interface Played {
  readonly end: JobEnd;
  readonly strokes: number;
  readonly millis: number;
}

/** Plays contacts; `onStroke` is told the strokes so far. */
async function play(
  device: Device,
  count: number,
  onStroke: (strokes: number) => void = () => undefined,
): Promise<Played> {
  const everyMicros: Micros = device.about.clock === "real" ? 300_000 : 1_000_000;
  const stimulus: StimulusEvent[] = Array.from({ length: count }, (_, i) => ({
    kind: "contact",
    atMicros: everyMicros * (i + 1),
  }));
  let strokes = 0;
  const sink = (event: TraceEvent): void => {
    if (event.kind !== "paced") return;
    strokes += 1;
    onStroke(strokes);
  };
  const began = performance.now();
  const end = await device.run({
    settings: SETTINGS,
    stimulus,
    untilMicros: (count + 5) * everyMicros,
    sink,
  });
  return { end, strokes, millis: performance.now() - began };
}

test("a serial device paces what was earned, run after run", async () => {
  const { path } = openPtyDevice();
  const device = await open(path);
  const runs = [await play(device, 20), await play(device, 20)];
  expect(runs.map(({ end, strokes }) => ({ end, strokes }))).toEqual([
    { end: { ok: true }, strokes: 30 },
    { end: { ok: true }, strokes: 30 },
  ]);
});

test.each(["stepped", "free"])(
  "a device that is killed half way on a %s clock is silent within a bounded time, and runs again when it is back",
  async (clock) => {
    const args = clock === "free" ? ["--free-only"] : [];
    const program = openPtyDevice(args);
    const device = await open(program.path);
    let killing: Promise<void> | undefined;
    const { end, millis } = await play(device, 20, (strokes) => {
      if (strokes === 3) killing = program.kill();
    });
    await killing;
    expect(end).toMatchObject({ ok: false, fault: { kind: "silent" } });
    expect(millis).toBeLessThan(END_MILLIS);
    await program.restart();
    expect(await play(device, 4)).toMatchObject({ end: { ok: true }, strokes: 6 });
  },
);

test("a device that starts anew half way ends the run as `restarted`", async () => {
  const program = openPtyDevice(["--free-only"]);
  const device = await open(program.path);
  let restarting: Promise<void> | undefined;
  const { end } = await play(device, 20, (strokes) => {
    if (strokes === 3) restarting = program.restart();
  });
  await restarting;
  expect(end).toMatchObject({ ok: false, fault: { kind: "restarted" } });
});

test("a port that is unplugged half way ends the run as `unplugged`, and another that is plugged in is opened anew", async () => {
  const program = openPtyDevice(["--free-only"]);
  const device = await open(program.path);
  let pulling: Promise<void> | undefined;
  const { end, millis } = await play(device, 20, (strokes) => {
    if (strokes === 3) pulling = program.unplug();
  });
  await pulling;
  expect(end).toMatchObject({ ok: false, fault: { kind: "unplugged" } });
  expect(millis).toBeLessThan(END_MILLIS);
  const later = await play(device, 2);
  expect(later.end).toMatchObject({ ok: false, fault: { kind: "unplugged" } });
  await device.close();
  const plugged = openPtyDevice();
  expect(await play(await open(plugged.path), 4)).toMatchObject({ end: { ok: true }, strokes: 6 });
});

test("a port that a second program holds is a device failure that says so, and the first goes on", async () => {
  const { path } = openPtyDevice();
  const device = await open(path);
  await expect(open(path)).rejects.toMatchObject({
    name: "DeviceError",
    fault: { kind: "unplugged", mend: "another program holds the port: end it, then try again" },
  });
  expect(await play(device, 4)).toMatchObject({ end: { ok: true }, strokes: 6 });
});

test("`tallystroke verify` on a device that is killed half way ends in status 3 within a bounded time", async () => {
  const program = openPtyDevice(["--free-only"]);
  const killing = new Promise<void>((resolve) => {
    setTimeout(() => void program.kill().then(resolve), 4_000);
  });
  const began = performance.now();
  const args = ["--ratio", "3:2", "--cap", "120", "--scenario", "steady", "--runs", "1"];
  const { status, result } = await run("verify", "--device", `serial:${program.path}`, ...args);
  await killing;
  expect(status).toBe(3);
  expect(result).toMatch(/in steady: silent: no answer/);
  expect(performance.now() - began).toBeLessThan(VERIFY_END_MILLIS);
});

test("what a boot loader prints before the greeting is passed over", async () => {
  const { path } = openPtyDevice(["--noise"]);
  expect(await play(await open(path), 4)).toMatchObject({ end: { ok: true }, strokes: 6 });
});
