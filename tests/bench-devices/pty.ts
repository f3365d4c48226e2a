/**
 * A program behind a path that a serial port can be opened on, for one test: closed after it, whatever happened in it.
 * Test support.
 */
import { onTestFinished } from "vitest";
import { CONTROLLER, openPtyPair, PLANT, type PtyDevice } from "./pty-pair.js";

export { CONTROLLER, PLANT, type PtyDevice };

/** Starts the controller behind a new path. */
export function openPtyDevice(args: readonly string[] = []): PtyDevice {
  return openForTest(CONTROLLER, args);
}

/** Starts the meter and pump behind a new path. */
export function openPtyPlant(args: readonly string[] = []): PtyDevice {
  return openForTest(PLANT, args);
}

function openForTest(file: string, args: readonly string[]): PtyDevice {
  const device = openPtyPair(file, args);
  onTestFinished(() => device.unplug());
  return device;
}
