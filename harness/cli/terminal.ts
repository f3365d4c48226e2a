/**
 * Where do results and talk go? The command's way out, so that it can be run in a test as well. Harness layer.
 */
import { fileFault, InputError } from "../files/fault.js";

export interface Terminal {
  /** What was asked for: standard output. Rejects with an InputError when its reader has gone away. */
  result(text: string): Promise<void>;
  /** Everything else: standard error. */
  talk(text: string): void;
}

/** 0 done, 1 a law is broken, 2 bad usage or bad input, 3 a device failed or a verdict is cannot tell. */
export type ExitStatus = 0 | 1 | 2 | 3;

/** The terminal of this process. */
export function processTerminal(): Terminal {
  // A failed write is told by its callback; the event that comes beside it would end the process.
  process.stdout.on("error", () => undefined);
  process.stderr.on("error", () => undefined);
  return {
    result: (text) =>
      new Promise((resolve, reject) => {
        process.stdout.write(text, (error) => {
          if (error) reject(new InputError([fileFault("standard output", error, "written")]));
          else resolve();
        });
      }),
    talk: (text) => {
      process.stderr.write(text);
    },
  };
}
