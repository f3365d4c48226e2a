/**
 * Does a run end on a free clock that stands still, or runs at a rate that nobody can work with?
 */
import { expect, test } from "vitest";
import type { JobEnd } from "../../harness/device.js";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { connect } from "../../harness/link/client.js";
import type { Micros } from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";
import { endOf, skewed, VirtualClock, wire } from "./virtual-bench.js";

const SECOND: Micros = 1_000_000;
const STANDS_STILL = -999_999;

async function playedAt(ppm: number): Promise<JobEnd> {
  const clock = new VirtualClock();
  const end = endOf(runModel, { ...MOCK_PROFILE, clock: ["free"] }, skewed(clock, ppm, 0));
  const { transport } = wire(clock, end, () => 400);
  const work = async (): Promise<JobEnd> => {
    const device = await connect(transport, { clock });
    const played = await device.run({
      settings: sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000 }),
      stimulus: [{ kind: "contact", atMicros: 6 * SECOND }],
      untilMicros: 8 * SECOND,
      sink: () => undefined,
    });
    await device.close();
    return played;
  };
  return clock.run(work(), 60 * SECOND);
}

test.each([
  ["stands still", STANDS_STILL],
  ["runs a tenth slow", -100_000],
  ["runs a tenth fast", 100_000],
])("a clock that %s is a fault that says so, and soon", async (_, ppm) => {
  expect(await playedAt(ppm)).toMatchObject({
    ok: false,
    fault: { kind: "nonsense", message: expect.stringMatching(/^its clock went on by /) as string },
  });
});

test.each([-40_000, 0, 40_000])("one that is off by %i millionths is worked with", async (ppm) => {
  expect(await playedAt(ppm)).toEqual({ ok: true });
});
