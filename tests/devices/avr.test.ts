/**
 * Does our firmware keep the laws on an emulated microcontroller, and is it the same run every time and on either emulator?
 */
import { spawn } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { describe, expect, onTestFinished, test } from "vitest";
import type { EmulatedPort } from "../../harness/devices/avr-bench.js";
import { emulateInProcess, machineWith } from "../../harness/devices/avr-in-process.js";
import { openDevice } from "../../harness/devices/open.js";
import { InputError } from "../../harness/files/fault.js";
import type { Device, JobEnd } from "../../harness/device.js";
import { connect } from "../../harness/link/client.js";
import { SCENARIOS } from "../../harness/stimuli/scenarios.js";
import type { VerifyReport } from "../../harness/verify/report.js";
import { verifyDevice, type VerifyOptions } from "../../harness/verify/verify.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus, sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";
import { CONTROLLER, deviceOn, HOST, inProcess, inProgram, NO_HOST, onFaster, SCRATCH } from "./avr-kit.js";

const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 500_000 });
const SHORT = ["steady", "bounce", "hold-and-release"];
/** From so many times the usual cases on, the one scenario that takes minutes is played as well. */
const FAR = 40;
const NAMED = SCENARIOS.map(({ name }) => name).filter((name) => name !== "many-contacts" || runs(1) >= FAR);
const FAR_MILLIS = 1_800_000;

const answersOf = ({ laws }: VerifyReport): Record<string, string> =>
  Object.fromEntries(laws.map(({ law, answer }) => [law, answer]));

async function verified(port: EmulatedPort, options: VerifyOptions): Promise<VerifyReport> {
  const device = await deviceOn(port);
  onTestFinished(() => device.close());
  return verifyDevice(device, SETTINGS, options);
}

async function play(device: Device, settings: Settings, stimulus: readonly StimulusEvent[]): Promise<JobEnd> {
  const untilMicros = (stimulus.at(-1)?.atMicros ?? 0) + 20_000_000;
  return device.run({ settings, stimulus, untilMicros, sink: () => undefined });
}

/** All that passes both ways while a job is done, with the moment of the part at which each piece came. */
async function conversation(
  port: EmulatedPort,
  settings: Settings,
  stimulus: readonly StimulusEvent[],
  withTimes: boolean,
): Promise<string> {
  let all = "";
  const device = await deviceOn(port, (text) => {
    all += withTimes ? `${port.clock.nowMicros()}: ${text}` : text;
  });
  // Settings that are sound in microseconds need not be so in ticks: a refusal is a conversation too.
  await play(device, settings, stimulus);
  await device.close();
  return all;
}

test(
  "the whole named suite shows all fifteen laws to hold on the emulated microcontroller",
  async () => {
    const isFast = NO_HOST === undefined;
    const report = await verified(onFaster(), { scenarios: isFast || runs(1) > 1 ? NAMED : SHORT });
    expect(report.stimuli.flatMap(({ fault }) => fault ?? [])).toEqual([]);
    if (isFast) expect(answersOf(report)).toEqual(Object.fromEntries(LAW_NAMES.map((law) => [law, "holds"])));
    else expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  },
  FAR_MILLIS,
);

test("short scenarios break no law on the emulator that needs nothing installed", async () => {
  const report = await verified(inProcess(), { scenarios: SHORT });
  expect(report.stimuli.flatMap(({ fault }) => fault ?? [])).toEqual([]);
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(answersOf(report)).toMatchObject({ proportion: "holds", cap: "holds", bounce: "holds" });
});

test("the same job is the same conversation, piece by piece and at the same moments", async () => {
  await fc.assert(
    fc.asyncProperty(anySettings, anyStimulus, async (settings, stimulus) => {
      const [one, other] = [
        await conversation(inProcess(), settings, stimulus, true),
        await conversation(inProcess(), settings, stimulus, true),
      ];
      expect(other).toBe(one);
    }),
    { numRuns: runs(3) },
  );
});

describe.skipIf(NO_HOST)(`beside libsimavr${NO_HOST === undefined ? "" : ` (${NO_HOST})`}`, () => {
  test("both emulators say the same, byte for byte", async () => {
    await fc.assert(
      fc.asyncProperty(anySettings, anyStimulus, async (settings, stimulus) => {
        const ours = await conversation(inProcess(), settings, stimulus, false);
        expect(await conversation(inProgram(), settings, stimulus, false)).toBe(ours);
      }),
      { numRuns: runs(6) },
    );
  });

  test("an emulator that is killed is a device that is unplugged", async () => {
    const port = inProgram();
    const device = await deviceOn(port);
    onTestFinished(() => device.close());
    await port.transport.close();
    const end = await device.run({
      settings: SETTINGS,
      stimulus: [],
      untilMicros: 1_000_000,
      sink: () => undefined,
    });
    expect(end).toMatchObject({ ok: false, fault: { kind: "unplugged" } });
  });

  test("on standard input and output it serves by itself, in virtual time", async () => {
    const program = spawn(HOST, [CONTROLLER]);
    let said = "";
    program.stdout.on("data", (bytes: Buffer) => (said += bytes.toString("latin1")));
    program.stdin.end("set strokes 3\nbegin stepped\nat 1000000 contact\ngo 2000000\n");
    expect(await new Promise((resolve) => program.on("close", resolve))).toBe(0);
    expect(said).toContain("counted 1000000 contacts=1 earned=3");
  });
});

/** An image that turns on the spot: rjmp .-2 */
function busyImage(): string {
  const file = join(SCRATCH, "busy.hex");
  writeFileSync(file, ":02000000FFCF30\n:00000001FF\n");
  return file;
}

test.each([
  { image: ":0000000", words: "is no record" },
  { image: ":0400000001020304F3\n:00000001FF", words: "has a wrong checksum" },
  { image: ":0400000001020304F2", words: "has no end record" },
  { image: ":048000000102030472\n:00000001FF", words: "is past the 32768 bytes" },
])("an image that $words is bad input", async ({ image, words }) => {
  const file = join(SCRATCH, "bad.hex");
  writeFileSync(file, image);
  const opening = openDevice(`avr:${file}`);
  await expect(opening).rejects.toThrow(InputError);
  await expect(opening).rejects.toThrow(words);
});

test("an image that is not there is bad input", async () => {
  await expect(openDevice("avr:no-such.hex")).rejects.toThrow(InputError);
});

test("a part that is busy lets whatever else this process does have its turn", async () => {
  let turns = 0;
  let isOver = false as boolean;
  const turn = (): void => {
    turns += 1;
    if (!isOver) setImmediate(turn);
  };
  setImmediate(turn);
  const { cycle, isIdle } = await emulateInProcess(machineWith(busyImage())).settle(
    new Uint8Array(),
    5_000_000,
  );
  isOver = true;
  expect([cycle >= 5_000_000, isIdle]).toEqual([true, false]);
  expect(turns).toBeGreaterThanOrEqual(9);
});

test("firmware that never sleeps and says nothing is a silent device", async () => {
  const { transport, clock } = inProcess(busyImage());
  const opening = connect(transport, { clock, limits: { patienceMicros: 20_000 } });
  await expect(opening).rejects.toMatchObject({ fault: { kind: "silent" } });
});

test("`avr` is the controller that is shipped", async () => {
  const device = await openDevice("avr");
  onTestFinished(() => device.close());
  expect(device.about).toMatchObject({
    spec: "avr",
    name: "ATmega328P controller",
    clock: "virtual",
    tickMicros: 64,
  });
});
