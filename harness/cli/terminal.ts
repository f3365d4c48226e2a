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
   * answer takes it back. Where there is none, signals are nobody's business here. An end that is `asked` for is a
   * usual one: the process then ends in the status of the verb, else in that of the signal.
   */
  onInterrupt?(act: () => void, kind?: "asked"): () => void;
}

/** 0 done, 1 a law is broken, 2 bad usage or bad input, 3 a device failed or a verdict is cannot tell. */
export type ExitStatus = 0 | 1 | 2 | 3;

/** The terminal of a process, which is told of signals. */
export interface ProcessTerminal extends Terminal {
  /** Whether somebody finishes by themselves, and then whether the signal is a usual way to ask for it. */
  interrupt(): "nobody" | "finishes" | "asked";
}

/** The terminal of this process. */
export function processTerminal(): ProcessTerminal {
  let acts: { readonly act: () => void; readonly kind: "asked" | undefined } | undefined;
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
    onInterrupt(act, kind) {
      acts = { act, kind };
      return () => {
        acts = undefined;
      };
    },
    interrupt() {
      const finish = acts;
      acts = undefined;
      if (finish === undefined) return "nobody";
      finish.act();
      return finish.kind ?? "finishes";
    },
  };
}
