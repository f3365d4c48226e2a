/**
 * Does the firmware serve on a serial port in real time, its UART on a pseudo-terminal?
 */
import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import { once } from "node:events";
import { expect, onTestFinished, test } from "vitest";
import { openDevice } from "../../harness/devices/open.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { CONTROLLER, HOST, NO_HOST } from "./avr-kit.js";

const title = NO_HOST === undefined ? "" : ` (${NO_HOST})`;

async function startLive(): Promise<{
  readonly program: ChildProcessWithoutNullStreams;
  readonly path: string;
}> {
  const program = spawn(HOST, ["--live", CONTROLLER]);
  onTestFinished(() => void program.kill());
  const [line] = (await once(program.stdout, "data")) as [Buffer];
  return { program, path: line.toString("utf8").trim() };
}

test.skipIf(NO_HOST)(
  `in real time on a pseudo-terminal it paces what was earned, run after run${title}`,
  async () => {
    const { path } = await startLive();
    const device = await openDevice(`serial:${path}`);
    onTestFinished(() => device.close());
    expect(device.about).toMatchObject({ name: "ATmega328P controller", tickMicros: 64 });
    for (let i = 0; i < 2; i++) {
      const trace: TraceEvent[] = [];
      const end = await device.run({
        settings: sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000, cadence: "prompt" }),
        stimulus: [1, 2, 3, 4].map((second) => ({ kind: "contact", atMicros: second * 1_000_000 })),
        untilMicros: 20_000_000,
        sink: (event) => trace.push(event),
      });
      expect(end).toEqual({ ok: true });
      expect(trace.filter(({ kind }) => kind === "paced")).toHaveLength(6);
    }
  },
);

test.skipIf(NO_HOST)(`it ends when its standard input does${title}`, async () => {
  const { program } = await startLive();
  program.stdin.end();
  expect(await once(program, "close")).toEqual([0, null]);
});
