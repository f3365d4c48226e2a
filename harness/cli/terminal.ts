/**
 * Where do results and talk go? The command's way out, so that it can be run in a test as well. Harness layer.
 */
import { fileFault, InputError } from "../files/fault.js";

export interface Terminal {
  /** What was asked for: standard output. Rejects with an InputError when its reader has gone away. */
  result(text: string): Promise<void>;
  /** Everything else: standard error. */
  talk(text: string): void;
  /**
   * While it stands, a signal to end calls `act` once instead of ending the process at once; a second one ends it. The
   * answer takes it back. Where there is none, signals are nobody's business here.
   */
  onInterrupt?(act: () => void): () => void;
}

/** 0 done, 1 a law is broken, 2 bad usage or bad input, 3 a device failed or a verdict is cannot tell. */
export type ExitStatus = 0 | 1 | 2 | 3;

/** The terminal of a process, which is told of signals. */
export interface ProcessTerminal extends Terminal {
  /** True if somebody finishes by themselves. */
  interrupt(): boolean;
}

/** The terminal of this process. */
export function processTerminal(): ProcessTerminal {
  let acts: (() => void) | undefined;
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
    onInterrupt(act) {
      acts = act;
      return () => {
        acts = undefined;
      };
    },
    interrupt() {
      const finish = acts;
      acts = undefined;
      finish?.();
      return finish !== undefined;
    },
  };
}
