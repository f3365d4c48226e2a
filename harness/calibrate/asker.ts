/**
 * How is a person asked, and a pipe read, one answer at a time? Harness layer.
 *
 * One reader for the whole test: answers that come faster than the questions wait in it, so that a pipe works as well
 * as a terminal. Questions go to standard error, results stay alone on standard output.
 */
import { createInterface } from "node:readline";
import type { Readable, Writable } from "node:stream";

export interface Asker {
  /** The answer without spaces around it; undefined when there will be none: input has ended, or it was cancelled. */
  ask(question: string): Promise<string | undefined>;
  /** Ends the waiting: whoever asks is answered undefined. */
  cancel(): void;
  readonly isCancelled: boolean;
}

export interface AskerEnds {
  readonly input: Readable & { readonly isTTY?: boolean };
  readonly output: Writable & { readonly isTTY?: boolean };
  /** Ctrl-C on a terminal, which comes as a key there and not as a signal. */
  readonly onInterruptKey: () => void;
}

export function openAsker({ input, output, onInterruptKey }: AskerEnds): Asker {
  const isTerminal = input.isTTY === true && output.isTTY === true;
  const lines = createInterface({ input, output, terminal: isTerminal });
  const answers = lines[Symbol.asyncIterator]();
  let isCancelled = false;
  lines.on("SIGINT", onInterruptKey);
  return {
    async ask(question) {
      if (isCancelled) return undefined;
      lines.setPrompt(question);
      lines.prompt();
      const answer = await answers.next();
      const isEnd = answer.done === true;
      // A terminal shows what is typed; a pipe does not.
      if (isEnd || !isTerminal) output.write(isEnd ? "\n" : `${answer.value}\n`);
      return isEnd ? undefined : answer.value.trim();
    },
    cancel() {
      isCancelled = true;
      lines.close();
    },
    get isCancelled() {
      return isCancelled;
    },
  };
}
