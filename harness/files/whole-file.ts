/**
 * How does a file that is made at once get to its place, so that a failure leaves no half of it? Harness layer.
 */
import { mkdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { fileFault, InputError } from "./fault.js";

/** Writes beside the file, then gives it its name. Throws an InputError where it cannot. */
export function writeWhole(path: string, content: string | Uint8Array): void {
  const partial = `${path}.partial-${process.pid}`;
  try {
    writeFileSync(partial, content, { flag: "wx" });
    renameSync(partial, path);
  } catch (error) {
    try {
      rmSync(partial, { force: true });
    } catch {
      // Where not even that works there is nothing to take back; the first fault is the one to tell.
    }
    throw new InputError([fileFault(path, error, "written")]);
  }
}

/** Makes a folder, with those above it, unless it is there. Throws an InputError where it cannot. */
export function makeFolder(path: string): void {
  try {
    mkdirSync(path, { recursive: true });
  } catch (error) {
    throw new InputError([fileFault(path, error, "made")]);
  }
}
