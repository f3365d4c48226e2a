/**
 * Does the firmware keep the laws, over the link code of the microcontroller itself? As a program on a pseudo-terminal,
 * and as an image of a second part under emulation.
 */
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { expect, onTestFinished, test } from "vitest";
import { openDevice } from "../../harness/devices/open.js";
import { compile } from "../../harness/firmware/build.js";
import { SCENARIOS } from "../../harness/stimuli/scenarios.js";
import { statusOfReport, verifyDevice, type VerifyOptions } from "../../harness/verify/verify.js";
import type { VerifyReport } from "../../harness/verify/report.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import { sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";
import { compileNative, SCRATCH, nativeTest } from "./link-kit.js";

const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 500_000 });
const QEMU =
  "qemu-system-arm -M mps2-an385 -display none -monitor none -chardev stdio,id=line,signal=off -serial chardev:line -kernel";

/** All there is, but one that takes as long as all others together where nobody asked to reach further. */
const NAMED = SCENARIOS.map(({ name }) => name).filter((name) => name !== "many-contacts" || runs(1) > 1);

const answers = ({ laws }: VerifyReport): Record<string, string> =>
  Object.fromEntries(laws.map(({ law, answer }) => [law, answer]));
const faultsOf = ({ stimuli }: VerifyReport): unknown[] => stimuli.flatMap(({ fault }) => fault ?? []);

async function verified(spec: string, options: VerifyOptions): Promise<VerifyReport> {
  const device = await openDevice(spec);
  onTestFinished(() => device.close());
  return verifyDevice(device, SETTINGS, options);
}

nativeTest(
  "the whole named suite shows all fifteen laws to hold on the link code that the microcontroller runs",
  async () => {
    const program = compileNative({});
    const report = await verified(`exec:${program}`, { scenarios: NAMED, quick: true });
    expect({ status: statusOfReport(report), laws: answers(report), faults: faultsOf(report) }).toEqual({
      status: 0,
      laws: Object.fromEntries(LAW_NAMES.map((law) => [law, "holds"])),
      faults: [],
    });
  },
);

nativeTest(
  "generated runs break no law, nor a rule of the language that the compiler can watch",
  async () => {
    const report = await verified(`exec:${compileNative({})}`, { scenarios: [], runs: 10, seed: 6 });
    expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
    expect(faultsOf(report)).toEqual([]);
  },
);

test("short scenarios break no law on a Cortex-M3 as qemu has it", async ({ skip }) => {
  const image = join(SCRATCH, "controller-arm.elf");
  const fault = compile({ part: "arm", role: "controller", to: image });
  skip(/ is not installed$/.test(fault ?? ""), fault);
  expect(fault).toBeUndefined();
  skip(spawnSync("qemu-system-arm", ["--version"]).error !== undefined, "qemu-system-arm is not installed");
  const scenarios = ["steady", "bounce", "hold-and-release", "ratio-change", "power-cycle-at-every-moment"];
  const report = await verified(`exec:${QEMU} ${image}`, { scenarios, quick: true });
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(faultsOf(report)).toEqual([]);
  expect(answers(report)).toMatchObject({
    proportion: "holds",
    cap: "holds",
    silence: "holds",
    bounce: "holds",
  });
});
