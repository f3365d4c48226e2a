/**
 * Are mistakes in the firmware caught on the microcontroller that it runs on, each by the law that names it?
 */
import { join } from "node:path";
import { describe, expect, onTestFinished, test } from "vitest";
import { compile, compilerOf, writeHex } from "../../harness/firmware/build.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { SECOND } from "../../lib/pacing/index.js";
import { deviceOn, onFaster, SCRATCH } from "../devices/avr-kit.js";
import { sound } from "../support/arbitraries.js";
import { FAULTS, type FirmwareFault, writeFaulty } from "./faults.js";

const USUAL = {
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 2,
  cadence: "prompt",
  graceMicros: 20 * SECOND,
  longestPrimeMicros: 10 * SECOND,
} as const;
const GENERATED = 6;
const missing = compilerOf("avr") === undefined ? "avr-gcc is not installed" : undefined;

/** The laws that the scenario finds broken on an image with the mistake. */
async function brokenBy(fault: FirmwareFault, index: number): Promise<string[]> {
  const from = join(SCRATCH, `faulty-${index}`);
  const to = join(from, "controller.elf");
  const hex = join(from, "controller.hex");
  writeFaulty(fault, from);
  // A mistake may leave something unused.
  expect(compile({ part: "avr", role: "controller", to, from, more: ["-Wno-error"] })).toBeUndefined();
  expect(writeHex(to, hex)).toBeUndefined();
  const device = await deviceOn(onFaster(hex));
  onTestFinished(() => device.close());
  const report = await verifyDevice(device, sound({ ...USUAL, ...fault.settings }), {
    ...(fault.scenario === undefined ? { scenarios: [], runs: GENERATED } : { scenarios: [fault.scenario] }),
    shrinkLimits: { triesMost: 0, deviceMicrosMost: 0 },
  });
  return report.laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
}

describe.skipIf(missing)(
  `on the emulated microcontroller${missing === undefined ? "" : ` (${missing})`}`,
  () => {
    test("without a mistake the same scenarios break no law", async () => {
      const device = await deviceOn(onFaster());
      onTestFinished(() => device.close());
      const scenarios = [...new Set(FAULTS.flatMap(({ scenario }) => scenario ?? []))];
      const report = await verifyDevice(device, sound(USUAL), { scenarios });
      expect(report.stimuli.flatMap(({ fault }) => fault ?? [])).toEqual([]);
      expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
    });

    test.each(FAULTS.map((fault, index) => ({ ...fault, index })))(
      "$name is caught by the law of $law",
      async ({ index, ...fault }) => {
        expect(await brokenBy(fault, index)).toContain(fault.law);
      },
    );
  },
);
