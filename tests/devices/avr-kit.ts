/**
 * The firmware on either emulator, as tests put it on the bench. Test support.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type EmulatedPort, putOnBench } from "../../harness/devices/avr-bench.js";
import { CONTROLLER_IMAGE } from "../../harness/devices/avr.js";
import { emulateInProcess, machineWith } from "../../harness/devices/avr-in-process.js";
import { emulateInProgram } from "../../harness/devices/avr-process.js";
import { shipped } from "../../harness/files/package-root.js";
import { buildEmulator } from "../../harness/firmware/emulator/build.js";
import { connect, type LinkDevice } from "../../harness/link/client.js";
import type { Transport } from "../../harness/link/transport.js";

export const CONTROLLER = shipped(CONTROLLER_IMAGE);
/** What is built for these tests alone. */
export const SCRATCH = mkdtempSync(join(tmpdir(), "tallystroke-avr-"));
process.on("exit", () => {
  rmSync(SCRATCH, { recursive: true, force: true });
});

/** Our host program on libsimavr, and why it cannot be had here. */
export const HOST = join(SCRATCH, "emulator");
export const NO_HOST = buildEmulator(HOST);
if (NO_HOST !== undefined && !NO_HOST.endsWith(" is not installed")) throw new Error(NO_HOST);

export const inProcess = (image = CONTROLLER): EmulatedPort =>
  putOnBench(emulateInProcess(machineWith(image)));
export const inProgram = (image = CONTROLLER): EmulatedPort => putOnBench(emulateInProgram(HOST, image));
/** The faster emulator that can be had here. */
export const onFaster = NO_HOST === undefined ? inProgram : inProcess;

/** A device of it; with `hear`, all that passes either way is told. */
export function deviceOn(
  port: EmulatedPort,
  hear: (text: string) => void = () => undefined,
): Promise<LinkDevice> {
  return connect(overheard(port.transport, hear), { clock: port.clock });
}

function overheard(transport: Transport, hear: (text: string) => void): Transport {
  return {
    ...transport,
    send(bytes) {
      hear(`> ${Buffer.from(bytes).toString("latin1")}`);
      return transport.send(bytes);
    },
    onBytes(take) {
      transport.onBytes((bytes) => {
        hear(Buffer.from(bytes).toString("latin1"));
        take(bytes);
      });
    },
  };
}
