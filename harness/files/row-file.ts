/**
 * How do rows get into a file so that a failure leaves no half of it? Harness layer.
 *
 * Rows go to a file beside the one that was asked for, which takes its name only when all is written. Writes are
 * synchronous, a block at a time: nothing waits in memory however many strokes one contact makes, and a full disk or
 * a closed pipe is told at once. What is not a regular file (a pipe, a device) is written directly.
 */
import { closeSync, openSync, realpathSync, renameSync, statSync, unlinkSync, writeSync } from "node:fs";
import { fileFault, InputError } from "./fault.js";

const BLOCK_CHARS = 65_536;

export interface RowFile {
  /** Writes one line. */
  line(text: string): void;
  /** All is written: the file takes its name. */
  keep(): void;
  /** Takes back what was written, if it was not kept. Never throws. */
  readonly discard: () => void;
}

/** Starts a file of rows, under a header if there is one. Throws an InputError, now or later, when it cannot be written. */
export function createRowFile(path: string, header?: string): RowFile {
  let block = header === undefined ? "" : `${header}\n`;
  let open = true;
  let closed = false;

  const guarded = <Done>(act: () => Done): Done => {
    try {
      return act();
    } catch (error) {
      throw new InputError([fileFault(path, error, "written")]);
    }
  };
  const { regular, target } = guarded(() => targetOf(path));
  const written = regular ? `${target}.partial-${process.pid}` : target;
  const file = guarded(() => openSync(written, regular ? "wx" : "w"));
  const flush = (): void => {
    guarded(() => {
      const bytes = Buffer.from(block);
      for (let from = 0; from < bytes.length;) from += writeSync(file, bytes, from);
    });
    block = "";
  };

  const discard = (): void => {
    process.off("exit", discard);
    if (!open) return;
    open = false;
    try {
      if (!closed) closeSync(file);
      if (regular) unlinkSync(written);
    } catch {
      // It is going away anyway; the fault that led here is the one to tell.
    }
  };
  process.once("exit", discard);

  return {
    line(text) {
      block += `${text}\n`;
      if (block.length >= BLOCK_CHARS) flush();
    },
    keep() {
      flush();
      guarded(() => {
        closeSync(file);
        closed = true;
        if (regular) renameSync(written, target);
        open = false;
      });
    },
    discard,
  };
}

/** True if both names lead to one existing file. */
export function isSameFile(a: string, b: string): boolean {
  try {
    return realpathSync(a) === realpathSync(b);
  } catch {
    return false;
  }
}

interface Target {
  /** Behind every link, so that a link is kept. */
  readonly target: string;
  /** True where a file stands, or could stand. */
  readonly regular: boolean;
}

function targetOf(path: string): Target {
  const stat = statSync(path, { throwIfNoEntry: false });
  if (stat === undefined) return { target: path, regular: true };
  return stat.isFile() ? { target: realpathSync(path), regular: true } : { target: path, regular: false };
}
