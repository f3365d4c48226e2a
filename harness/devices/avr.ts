/**
 * Our firmware on an emulated ATmega328P: which image, on which emulator? Harness layer.
 *
 * The image that is shipped runs in our host program on libsimavr where `npm run firmware` has built it, else in this process;
 * both say the same, byte for byte.
 */
import { existsSync } from "node:fs";
import type { Settings } from "../../lib/pacing/index.js";
import { InputError } from "../files/fault.js";
import { shipped } from "../files/package-root.js";
import { type EmulatedPort, putOnBench } from "./avr-bench.js";
import { emulateInProcess, machineWith } from "./avr-in-process.js";
import { emulatePair } from "./avr-pair.js";
import { emulateInProgram } from "./avr-process.js";

/** The controller as it is shipped. */
export const CONTROLLER_IMAGE = "harness/firmware/image/prebuilt/controller.hex";
/** The fixture as it is shipped. */
export const FIXTURE_IMAGE = "harness/firmware/image/prebuilt/fixture.hex";
const FIXTURE = "avr:fixture";
/** Where `npm run firmware` puts our host program. */
export const HOST_PROGRAM = "dist/firmware/emulator";

/**
 * `avr`, or `avr:FILE` for another image in Intel HEX, on the faster emulator that is there; or `avr:fixture`, whose controller has
 * the settings. Throws an InputError.
 */
export function openAvr(spec: string, settings: Settings | undefined): EmulatedPort {
  if (spec === FIXTURE) return openPair(settings);
  const image = spec === "avr" ? shipped(CONTROLLER_IMAGE) : spec.slice("avr:".length);
  // Read in any case, so that a bad file is told as such.
  const machine = machineWith(image);
  const host = shipped(HOST_PROGRAM);
  return putOnBench(existsSync(host) ? emulateInProgram(host, image, spec) : emulateInProcess(machine, spec));
}

function openPair(settings: Settings | undefined): EmulatedPort {
  if (settings === undefined) {
    throw new InputError([
      { field: "--device", fault: "has a controller without settings", mend: "give a ratio and a cap" },
    ]);
  }
  const fixture = machineWith(shipped(FIXTURE_IMAGE));
  const controller = machineWith(shipped(CONTROLLER_IMAGE));
  return putOnBench(emulatePair(fixture, controller, settings, FIXTURE));
}
