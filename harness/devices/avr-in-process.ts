/**
 * The microcontroller emulated in this process, with nothing to install. Harness layer.
 *
 * It lets the event loop go round between slices that are counted in cycles, so that how busy the machine is changes nothing.
 */
import { setImmediate } from "node:timers/promises";
import { readFileSync } from "node:fs";
import { fileFault, InputError } from "../files/fault.js";
import { readHex } from "../firmware/emulator/hex.js";
import { FLASH_BYTES, Machine } from "../firmware/emulator/machine.js";
import type { Emulation, Stretch } from "./avr-emulation.js";

/** About a fiftieth of a second of this machine's time, if the part is busy. */
const SLICE_CYCLES = 500_000;
/** Asleep, a slice is a thousand times as quick. */
const SLEEP_CYCLES = 10_000_000;

/** A machine with an Intel HEX file in it. Throws an InputError. */
export function machineWith(path: string): Machine {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw new InputError([fileFault(path, error, "read")]);
  }
  return new Machine(readHex(text, FLASH_BYTES, path));
}

export function emulateInProcess(machine: Machine, name = "avr"): Emulation {
  let sent: number[] = [];
  let isClosed = false;
  machine.onByte = (byte) => sent.push(byte);
  const end = (): Stretch => {
    const bytes = Uint8Array.from(sent);
    sent = [];
    return { cycle: machine.cycle, isIdle: machine.isIdle, bytes };
  };
  return {
    name,
    async settle(bytes, untilCycle) {
      machine.feed(bytes);
      for (;;) {
        machine.runUntilIdle(Math.min(machine.cycle + SLICE_CYCLES, untilCycle));
        if (machine.isIdle || machine.cycle >= untilCycle || isClosed) return end();
        await setImmediate();
      }
    },
    async advance(untilCycle) {
      for (;;) {
        machine.runUntilByte(Math.min(machine.cycle + SLEEP_CYCLES, untilCycle));
        if (sent.length > 0 || machine.cycle >= untilCycle || isClosed) return end();
        await setImmediate();
      }
    },
    close() {
      isClosed = true;
      return Promise.resolve();
    },
  };
}
