/**
 * Does the firmware run on a clock that does not wait for the bench? In real time, so all is judged by its own stamps.
 */
import { expect, onTestFinished } from "vitest";
import { openExec } from "../../harness/devices/exec.js";
import { connect } from "../../harness/link/client.js";
import { BYTES_MOST_FROM_DEVICE, checkedLine, newLineReader } from "../../harness/link/line.js";
import type { Transport } from "../../harness/link/transport.js";
import { contacts, event, happens, type Stimulus } from "../../harness/stimuli/passage.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { sound } from "../support/arbitraries.js";
import { compileNative, nativeTest } from "./link-kit.js";

const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 100_000 });
const SHORT: Stimulus = {
  tailMicros: 600_000,
  passages: [
    contacts(6, 300_000, 200_000),
    happens("prime-on", 100_000),
    happens("prime-off", 450_000),
    { kind: "closures", afterMicros: 200_000, count: 3, everyMicros: 200_000, closedMicros: 60_000 },
    event(100_000, { kind: "hold-on" }),
    contacts(2, 100_000, 100_000),
    event(100_000, { kind: "hold-off" }),
    contacts(3, 300_000, 100_000),
    happens("power-off", 50_000),
    event(100_000, { kind: "power-on", darkKnown: true }),
    contacts(1, 0, 200_000),
  ],
};

/** Takes the stepped clock out of the greeting, so that the bench has to use the free one. */
function withoutSteps(inner: Transport): Transport {
  const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
  return {
    ...inner,
    onBytes(take) {
      inner.onBytes((bytes) => {
        for (const line of reader.push(bytes)) {
          if (line.ok)
            take(Buffer.from(checkedLine(line.text.replace("clock stepped ", "clock ")), "latin1"));
        }
      });
    },
  };
}

nativeTest(
  "on a clock that runs by itself no law breaks, by the time stamps of the firmware to a tick",
  async () => {
    const transport = await openExec(compileNative({}));
    const device = await connect(withoutSteps(transport));
    onTestFinished(() => device.close());
    expect(device.about).toMatchObject({ clock: "real", tickMicros: 64 });
    const report = await verifyDevice(device, SETTINGS, { replay: { name: "short", stimulus: SHORT } });
    expect(report.stimuli.flatMap(({ fault }) => fault ?? [])).toEqual([]);
    expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
    expect(report.laws.filter(({ answer }) => answer === "holds").map(({ law }) => law)).toEqual(
      expect.arrayContaining(["proportion", "cap", "causality", "prime", "silence", "power-cycle", "bounce"]),
    );
  },
);
