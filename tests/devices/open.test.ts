/**
 * Do a program on a pseudo-terminal and a real kernel serial device serve as devices, and what if they go away?
 */
import { spawn as spawnProcess } from "node:child_process";
import { readFileSync } from "node:fs";
import { createServer } from "node:net";
import { join } from "node:path";
import { afterEach, expect, test, vi } from "vitest";
import type { Device } from "../../harness/device.js";
import { openDevice } from "../../harness/devices/open.js";
import { InputError } from "../../harness/files/fault.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { folder } from "../cli/kit.js";
import { sound } from "../support/arbitraries.js";

const CONTROLLER = "node tests/bench-devices/controller.mjs";
const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000, cadence: "prompt" });
const STIMULUS: StimulusEvent[] = [1, 2, 3, 4].map((second) => ({
  kind: "contact",
  atMicros: second * 1_000_000,
}));
const opened: Device[] = [];

afterEach(async () => {
  for (const device of opened.splice(0)) await device.close();
});

async function open(spec: string): Promise<Device> {
  const device = await openDevice(spec, { limits: { patienceMicros: 300_000 } });
  opened.push(device);
  return device;
}

async function strokesOf(device: Device): Promise<unknown> {
  const trace: TraceEvent[] = [];
  const end = await device.run({
    settings: SETTINGS,
    stimulus: STIMULUS,
    untilMicros: 20_000_000,
    sink: (event) => trace.push(event),
  });
  return end.ok ? trace.filter(({ kind }) => kind === "paced").length : end;
}

test("a program on a pseudo-terminal paces what was earned, run after run", async () => {
  const device = await open(`exec:${CONTROLLER}`);
  expect([await strokesOf(device), await strokesOf(device)]).toEqual([6, 6]);
});

test("a command of several parts is one, and all of it ends with the device", async () => {
  const pidFile = join(folder(), "pid");
  const device = await open(`exec:true && sh -c 'echo $$ > ${pidFile}; exec ${CONTROLLER}'; true`);
  expect(await strokesOf(device)).toBe(6);
  const pid = Number(readFileSync(pidFile, "utf8"));
  expect(isAlive(pid)).toBe(true);
  await device.close();
  await vi.waitFor(
    () => {
      expect(isAlive(pid)).toBe(false);
    },
    { timeout: 10_000 },
  );
});

function isAlive(pid: number): boolean {
  try {
    return process.kill(pid, 0);
  } catch {
    return false;
  }
}

test("a program that cannot speak the link is a device failure with a mend", async () => {
  await expect(open("exec:cat")).rejects.toMatchObject({ name: "DeviceError" });
  await expect(open("exec:false")).rejects.toMatchObject({ fault: { kind: "unplugged" } });
});

test("a controller behind a raw TCP server paces what was earned; one that goes away is unplugged", async () => {
  const server = createServer((socket) => {
    const program = spawnProcess("node", ["tests/bench-devices/controller.mjs"]);
    socket.pipe(program.stdin);
    program.stdout.pipe(socket);
    socket.on("close", () => program.kill());
    socket.on("error", () => undefined);
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const address = server.address();
  const port = address !== null && typeof address === "object" ? address.port : 0;
  const device = await open(`tcp:127.0.0.1:${port}`);
  expect(await strokesOf(device)).toBe(6);
  await device.close();
  await new Promise((resolve) => server.close(resolve));
  await expect(open(`tcp:127.0.0.1:${port}`)).rejects.toMatchObject({ fault: { kind: "unplugged" } });
});

test.each(["", "avr:", "serial:", "tcp:host", "tcp:host:0", "tcp:host:70000", "usb:1"])(
  "the specification %j is bad input",
  async (spec) => {
    await expect(openDevice(spec)).rejects.toThrow(InputError);
  },
);

test("a port that is not there is a device failure", async () => {
  await expect(open("serial:/dev/no-such-port")).rejects.toMatchObject({ fault: { kind: "unplugged" } });
});
