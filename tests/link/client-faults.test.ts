/**
 * Does each thing that a device can do wrong end in the right fault, with the next run sound and no rejection unseen?
 *
 * In virtual time, over a wire whose lines can be changed on their way.
 */
import { expect, test } from "vitest";
import type { DeviceFault, JobEnd, StartRun } from "../../harness/device.js";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { connect, type LinkDevice } from "../../harness/link/client.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { checkedLine } from "../../harness/link/line.js";
import type { Micros } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { endOf, type FarEnd, VirtualClock, wire, type Wire } from "./virtual-bench.js";
import { expectNoUnseenRejection } from "../support/rejections.js";

const MINUTE: Micros = 60_000_000;
const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000 });
const STIMULUS: StimulusEvent[] = Array.from({ length: 24 }, (_, i) => ({
  kind: "contact",
  atMicros: 1_000_000 * (i + 1),
}));
const JOB = { settings: SETTINGS, stimulus: STIMULUS, untilMicros: MINUTE };
/** So that a run takes several windows and steps. */
const SMALL: DeviceProfile = { ...MOCK_PROFILE, queue: 4, window: 2 };

expectNoUnseenRejection();

interface Played {
  readonly end: JobEnd;
  readonly trace: TraceEvent[];
}

async function play(device: LinkDevice, signal?: AbortSignal): Promise<Played> {
  const trace: TraceEvent[] = [];
  const end = await device.run({
    ...JOB,
    sink: (event) => trace.push(event),
    ...(signal === undefined ? {} : { signal }),
  });
  return { end, trace };
}

function modelTrace(): TraceEvent[] {
  const trace: TraceEvent[] = [];
  const run = runModel(SETTINGS, (event) => trace.push(event));
  for (const event of STIMULUS) run.give(event);
  run.end(MINUTE);
  return trace;
}
const WHOLE: Played = { end: { ok: true }, trace: modelTrace() };

/** A wire whose device says `change` of a line instead of it; called for every line, its check left out. */
function changed(
  change: (line: string, say: (text: string) => void) => string[],
  profile: DeviceProfile = SMALL,
  start: StartRun = runModel,
): FarEnd {
  return (send) => {
    const say = (text: string): void => {
      send(Buffer.from(checkedLine(text), "latin1"));
    };
    return endOf(
      start,
      profile,
    )((bytes) => {
      for (const line of change(Buffer.from(bytes).toString("latin1").slice(0, -6), say)) say(line);
    });
  };
}

/** A device whose bytes come in pieces of this size, however many lines that is. */
function inPieces(size: number): FarEnd {
  return (send) => {
    let kept = Buffer.alloc(0);
    const end = endOf(runModel, SMALL)((bytes) => (kept = Buffer.concat([kept, bytes])));
    return {
      take(bytes) {
        end.take(bytes);
        for (; kept.length > 0; kept = kept.subarray(size)) send(kept.subarray(0, size));
      },
      close() {
        end.close();
      },
    };
  };
}

/** Plays twice over a far end, as soon as it has greeted; `act` may disturb the first time. */
async function playTwice(
  far: FarEnd,
  act: (wired: Wire) => void = () => undefined,
): Promise<{ readonly first: Played; readonly second: Played; readonly lines: readonly string[] }> {
  const clock = new VirtualClock();
  const wired = wire(clock, far, () => 100);
  const work = async () => {
    const device = await connect(wired.transport, { clock, limits: { linesMost: 2_000 } });
    const playing = play(device);
    act(wired);
    const first = await playing;
    const second = await play(device);
    await device.close();
    return { first, second, lines: wired.lines };
  };
  return clock.run(work(), 30 * MINUTE);
}

/** Lets `does` happen once, in place of the n-th line that fits. */
function once(
  fits: RegExp,
  does: (line: string, say: (text: string) => void) => string[],
  nth = 1,
): Parameters<typeof changed>[0] {
  let seen = 0;
  return (line, say) => {
    if (!fits.test(line)) return [line];
    seen += 1;
    return seen === nth ? does(line, say) : [line];
  };
}

test.each<[string, DeviceFault["kind"], FarEnd]>([
  ["starts anew in the middle", "restarted", changed(once(/ paced /, () => ["boot virtual controller"], 5))],
  [
    "loses a report and keeps none",
    "lost-report",
    changed(
      once(/ paced /, () => [], 5),
      { ...SMALL, keep: 0 },
    ),
  ],
  ["says what means nothing", "nonsense", changed(once(/ paced /, (line) => [`${line} and more`], 5))],
  ["does an input twice", "nonsense", changed(once(/ did /, (line) => [line, again(line)], 5))],
  ["tells a time that goes back", "nonsense", changed(once(/ paced /, (line) => [earlier(line)], 5))],
  ["says that it cannot go on", "failed", changed(once(/ paced /, (line) => [faultOf(line)], 5))],
  [
    "sends without end",
    "flood",
    changed(once(/ paced /, (line) => Array.from({ length: 3_000 }, () => line), 5)),
  ],
  ["refuses what it promised", "refused", changed(once(/^ok 30 /, () => ["no 30 word"]))],
  [
    "goes to another time than it was told",
    "nonsense",
    changed(once(/^ok \d+ \d+ [1-9]\d+$/, (line) => [`${line}0`], 2)),
  ],
])("a device that %s ends the run as `%s`, and the next run is sound", async (_, kind, far) => {
  const { first, second } = await playTwice(far);
  expect(first.end).toMatchObject({ ok: false, fault: { kind } });
  expect(first.trace).toEqual(
    WHOLE.trace
      .slice(0, first.trace.length)
      .map((event, i) => (first.trace[i]?.kind === "fault" ? first.trace[i] : event)),
  );
  expect(second).toEqual(WHOLE);
});

test.each<[string, FarEnd, RegExp?]>([
  ["loses a report and keeps some", changed(once(/ paced /, () => [], 5)), /^> \d+ again \d+$/],
  ["says every line twice", changed((line) => [line, line])],
  [
    "answers an old question too",
    changed((line) => (line.startsWith("ok ") ? [line, "ok 1 0", line] : [line])),
  ],
  [
    "answers a question that was never asked",
    changed((line) => [...(line.startsWith("ok ") ? ["ok 60000 0"] : []), line]),
  ],
  ["loses an answer", changed(once(/^ok \d+ \d+$/, () => [], 25))],
])("a device that %s gives the model's trace", async (_, far, asked = /^> /) => {
  const { first, second, lines } = await playTwice(far);
  expect(lines.some((line) => asked.test(line))).toBe(true);
  expect(first).toEqual(WHOLE);
  expect(second).toEqual(WHOLE);
});

test("bytes that were merged or split anywhere give the model's trace", async () => {
  for (const size of [1, 7, 64, 1_000]) expect((await playTwice(inPieces(size))).first).toEqual(WHOLE);
});

test("a device that cannot begin fails the run, though it says so before it answers", async () => {
  const start: StartRun = () => {
    throw new Error("no such pump");
  };
  const { first } = await playTwice(endOf(start, SMALL));
  expect(first.end).toMatchObject({ ok: false, fault: { kind: "failed", message: "it says: no such pump" } });
});

test("a cable that is pulled ends this run and every later one as `unplugged`", async () => {
  const { first, second } = await playTwice(endOf(runModel, SMALL), (wired) => {
    wired.pull();
  });
  const unplugged = {
    ok: false,
    fault: { kind: "unplugged", message: "wire went away: the cable was pulled" },
  };
  expect([first.end, second.end]).toMatchObject([unplugged, unplugged]);
});

test("a device that has fallen silent is asked to greet once in each later run, no more", async () => {
  let isMute = false;
  const clock = new VirtualClock();
  const far = changed((line) => (isMute ? [] : [line]));
  const { transport } = wire(clock, far, () => 100);
  const work = async () => {
    const device = await connect(transport, { clock });
    isMute = true;
    const ends: unknown[] = [];
    const seconds: number[] = [];
    for (let i = 0; i < 3; i++) {
      const began = clock.nowMicros();
      ends.push((await play(device)).end);
      seconds.push((clock.nowMicros() - began) / 1_000_000);
    }
    isMute = false;
    ends.push((await play(device)).end);
    await device.close();
    return { ends, seconds };
  };
  const silent = { ok: false, fault: { kind: "silent" } };
  expect(await clock.run(work(), 30 * MINUTE)).toMatchObject({
    ends: [silent, silent, silent, { ok: true }],
    seconds: [12, 6, 6],
  });
});

test("a run that is given up leaves the device idle, and the next run is sound", async () => {
  const clock = new VirtualClock();
  const giveUp = new AbortController();
  const far = changed(once(/ paced /, (line) => (giveUp.abort(), [line]), 5));
  const { transport, lines } = wire(clock, far, () => 100);
  const work = async () => {
    const device = await connect(transport, { clock });
    const first = await play(device, giveUp.signal);
    const idleAt = lines.length;
    const second = await play(device);
    await device.close();
    return { first, second, idle: lines[idleAt - 1] };
  };
  const { first, second, idle } = await clock.run(work(), 30 * MINUTE);
  expect(first.end).toMatchObject({ ok: false, fault: { kind: "given-up" } });
  expect(idle).toMatch(/^< ok 0 \d+ 2$/);
  expect(second).toEqual(WHOLE);
});

test("what the caller's sink throws rejects the run, and nothing else", async () => {
  const clock = new VirtualClock();
  const { transport } = wire(clock, inPieces(1_000), () => 100);
  let told = 0;
  const work = async () => {
    const device = await connect(transport, { clock });
    const failing = device.run({
      ...JOB,
      sink: () => {
        told += 1;
        throw new Error("the disk is full");
      },
    });
    await expect(failing).rejects.toThrow("the disk is full");
    expect(told).toBe(1);
    const second = await play(device);
    await device.close();
    return second;
  };
  expect(await clock.run(work(), 30 * MINUTE)).toEqual(WHOLE);
});

/** A report once more under the next number. */
function again(line: string): string {
  const [number, ...words] = line.split(" ");
  return [Number(number) + 1, ...words].join(" ");
}

function earlier(line: string): string {
  const [number, kind, ticks] = line.split(" ");
  return `${number} ${kind} ${Number(ticks) - 3_000_000}`;
}

function faultOf(line: string): string {
  const [number, , ticks] = line.split(" ");
  return `${number} fault ${ticks} the pump does not answer`;
}
