/**
 * Does the bench prove a controller that it does not know, over a real kernel serial device? Real time on the host, so
 * nothing here looks at when bytes arrive: only at what the device's time stamps say, and at exits in bounded time.
 */
import { expect, onTestFinished, test } from "vitest";
import { openDevice } from "../../harness/devices/open.js";
import type { Device } from "../../harness/device.js";
import type { ConnectOptions } from "../../harness/link/client.js";
import { contacts, event, happens, type Stimulus } from "../../harness/stimuli/passage.js";
import type { VerifyReport } from "../../harness/verify/report.js";
import { statusOfReport, verifyDevice, type VerifyOptions } from "../../harness/verify/verify.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import { type Settings, type SettingsInput, validateSettings } from "../../lib/pacing/index.js";
import { CONTROLLER, openPtyDevice } from "./pty.js";

/** A silent device is known after a few short waits, so that the tests need not sit them out at their usual length. */
const IMPATIENT: ConnectOptions = { limits: { patienceMicros: 400_000, repeatsMost: 2 } };
const GIVE_UP_MILLIS = 20_000;

function settingsOf(input: Partial<SettingsInput> = {}): Settings {
  const valid = validateSettings({ strokes: 3, contacts: 2, leastSpacingMicros: 500_000, ...input });
  if (!valid.ok) throw new Error("settings that cannot be");
  return valid.settings;
}

async function opened(spec: string, options?: ConnectOptions): Promise<Device> {
  const device = await openDevice(spec, options);
  onTestFinished(() => device.close());
  return device;
}

const answers = ({ laws }: VerifyReport): Record<string, string> =>
  Object.fromEntries(laws.map(({ law, answer }) => [law, answer]));
const everyLawHolds = Object.fromEntries(LAW_NAMES.map((law) => [law, "holds"]));
const faultsOf = ({ stimuli }: VerifyReport): unknown[] => stimuli.flatMap(({ fault }) => fault ?? []);

test("the full named suite over a serial device shows all fifteen laws to hold on a controller of its own make", async () => {
  const pty = openPtyDevice();
  const device = await opened(`serial:${pty.path}`);
  const report = await verifyDevice(device, settingsOf(), { runs: 0, quick: true });
  expect({ status: statusOfReport(report), laws: answers(report), faults: faultsOf(report) }).toEqual({
    status: 0,
    laws: everyLawHolds,
    faults: [],
  });
  expect(device.about.clock).toBe("virtual");
});

test("generated runs over a program on a pseudo-terminal break no law", async () => {
  const device = await opened(`exec:'${process.execPath}' '${CONTROLLER}'`);
  const report = await verifyDevice(device, settingsOf({ cadence: "prompt" }), {
    scenarios: [],
    runs: 5,
    seed: 4,
  });
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(faultsOf(report)).toEqual([]);
});

const MISTAKES: readonly (readonly [fault: string, scenario: string, law: string])[] = [
  ["cap-after-prime", "prime-in-the-middle", "cap"],
  ["remainder-lost-on-hold", "hold-and-release", "proportion"],
  ["late-double", "peak-above-the-cap", "lateness"],
  ["still-water-dosed", "stop-and-go", "still-water"],
];

test.each(MISTAKES)("%s is caught over the wire in %s, by the law of %s", async (fault, scenario, law) => {
  const pty = openPtyDevice(["--faulty", fault]);
  const device = await opened(`serial:${pty.path}`);
  const report = await verifyDevice(device, settingsOf(), {
    scenarios: [scenario],
    quick: true,
    shrinkLimits: { triesMost: 60, deviceMicrosMost: 3_600_000_000 },
  });
  expect(statusOfReport(report)).toBe(1);
  expect(report.counterexamples.map((found) => found.law)).toContain(law);
});

const SHORT: Stimulus = {
  tailMicros: 600_000,
  passages: [
    contacts(4, 300_000, 200_000),
    happens("prime-on", 100_000),
    happens("prime-off", 300_000),
    { kind: "closures", afterMicros: 200_000, count: 2, everyMicros: 200_000, closedMicros: 60_000 },
    event(100_000, { kind: "hold-on" }),
    event(100_000, { kind: "hold-off" }),
  ],
};
const ONE_MILLISECOND = 1_000;

test("on a clock that runs by itself no law breaks either, judged by the device's time stamps to a millisecond", async () => {
  const pty = openPtyDevice(["--free-only"]);
  const device = await opened(`serial:${pty.path}`);
  expect(device.about.clock).toBe("real");
  const report = await verifyDevice(device, settingsOf({ leastSpacingMicros: 100_000 }), {
    replay: { name: "short", stimulus: SHORT },
    toleranceMicros: ONE_MILLISECOND,
  });
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(faultsOf(report)).toEqual([]);
  expect(statusOfReport(report)).toBe(0);
});

/** Lets something happen to the device while the bench waits for it; the report, and how long it took from there. */
async function interrupted(
  disturb: (pty: ReturnType<typeof openPtyDevice>) => void | Promise<void>,
  options: VerifyOptions = {},
): Promise<{ report: VerifyReport; tookMillis: number }> {
  const pty = openPtyDevice();
  const device = await opened(`serial:${pty.path}`, IMPATIENT);
  let sinceMillis = 0;
  let hasHappened: Promise<void> | undefined;
  let strokes = 0;
  const report = await verifyDevice(device, settingsOf(), {
    scenarios: ["steady"],
    ...options,
    watch: {
      begins: () => undefined,
      shrinks: () => undefined,
      event: ({ kind }) => {
        if (kind === "paced") strokes += 1;
        if (strokes < 5 || hasHappened !== undefined) return;
        sinceMillis = performance.now();
        hasHappened = Promise.resolve(disturb(pty));
      },
    },
  });
  const tookMillis = performance.now() - sinceMillis;
  await hasHappened;
  return { report, tookMillis };
}

test.each([
  ["killed", "silent", (pty: ReturnType<typeof openPtyDevice>) => pty.kill()],
  [
    "stopped",
    "silent",
    (pty: ReturnType<typeof openPtyDevice>) => {
      pty.stop();
    },
  ],
  ["unplugged", "unplugged", (pty: ReturnType<typeof openPtyDevice>) => pty.unplug()],
] as const)(
  "a device that is %s half way ends in status 3 as %s, in bounded time",
  async (_, kind, disturb) => {
    const { report, tookMillis } = await interrupted(disturb);
    expect(statusOfReport(report)).toBe(3);
    expect(faultsOf(report)).toEqual([expect.objectContaining({ kind })]);
    expect(tookMillis).toBeLessThan(GIVE_UP_MILLIS);
  },
);

test("a device that restarts half way breaks no law: the stimulus is played again, and told of", async () => {
  const { report } = await interrupted((pty) => pty.restart());
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(report.repeats).toBeGreaterThan(0);
});

test("after the noise of a boot loader the link finds its next good line", async () => {
  const pty = openPtyDevice(["--noise"]);
  const device = await opened(`serial:${pty.path}`);
  const report = await verifyDevice(device, settingsOf(), { scenarios: ["steady"] });
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(faultsOf(report)).toEqual([]);
});
