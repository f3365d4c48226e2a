/**
 * How do lines come onto a terminal, and how does it come back as it was? Harness layer.
 *
 * Draws on the alternative screen and writes only lines that changed, in one write a picture, and never waits for a
 * terminal that takes nothing. The terminal is put back once, on whatever way the process ends but SIGKILL; an uncaught error is printed after that.
 */
import type { WriteStream } from "node:tty";
import { styleText } from "node:util";
import {
  beginSynchronizedOutput,
  cursorHide,
  cursorShow,
  cursorTo,
  endSynchronizedOutput,
  enterAlternativeScreen,
  eraseEndLine,
  eraseScreen,
  exitAlternativeScreen,
} from "ansi-escapes";
import { onExit } from "signal-exit";
import stringWidth from "string-width";
import type { ViewLine, ViewSize } from "./view-lines.js";
import type { Tone } from "./view-rows.js";

/** DEC private modes 7 and 2004, as xterm's control sequences name them. */
const WRAP_OFF = "\u001B[?7l";
const WRAP_ON = "\u001B[?7h";
const PASTE_MARKED = "\u001B[?2004h";
const PASTE_PLAIN = "\u001B[?2004l";
/** Of a terminal that does not tell its size. */
const USUAL_SIZE: ViewSize = { columns: 80, rows: 24 };

export interface Screen {
  /** Draws what `linesFor` gives for the size of the window, now and whenever that size changes. */
  draw(linesFor: (size: ViewSize) => readonly ViewLine[]): void;
  /** Takes the terminal over anew and draws every line. */
  redraw(): void;
  /** Puts the terminal back. May be called again, which does nothing. */
  close(): void;
}

/** Takes the terminal over; `onRestore` is called once, whichever way it is given back. */
export function openScreen(stdout: WriteStream, onRestore: () => void): Screen {
  let shown: string[] = [];
  let linesFor: (size: ViewSize) => readonly ViewLine[] = () => [];
  /** Goes before the next picture. */
  let lead = "";
  let isOpen = true;
  let isWriting = false;
  let isBehind = false;
  const hasColour = stdout.hasColors();

  const draw = (): void => {
    // One picture under way: what comes meanwhile is drawn after it, as it stands by then.
    isBehind = isWriting;
    if (isWriting || !isOpen) return;
    const changes = changedLines(shown, linesFor, stdout, hasColour);
    if (lead === "" && changes === "") return;
    isWriting = true;
    stdout.write(lead + beginSynchronizedOutput + changes + endSynchronizedOutput, () => {
      isWriting = false;
      if (isBehind) draw();
    });
    lead = "";
  };
  const takeOver = (): void => {
    shown = [];
    lead = enterAlternativeScreen + cursorHide + WRAP_OFF + PASTE_MARKED + eraseScreen;
    draw();
  };
  const restore = (): void => {
    if (!isOpen) return;
    isOpen = false;
    stdout.off("resize", takeOver);
    forget();
    // The process may end with this: nothing is left to be written later, unless the terminal hangs.
    if (stdout.writableLength === 0) setBlocking(stdout, true);
    stdout.write(endSynchronizedOutput + PASTE_PLAIN + WRAP_ON + cursorShow + exitAlternativeScreen);
    onRestore();
  };
  // Stays after the view: the last write may fail once its terminal is gone.
  stdout.on("error", () => undefined);
  stdout.on("resize", takeOver);
  const forget = onExit(restore);
  setBlocking(stdout, false);
  takeOver();
  return {
    draw(next) {
      linesFor = next;
      draw();
    },
    redraw() {
      if (isOpen) takeOver();
    },
    close: restore,
  };
}

/** What brings the window from `shown`, which is brought up to date, to what it should be. */
function changedLines(
  shown: string[],
  linesFor: (size: ViewSize) => readonly ViewLine[],
  stdout: WriteStream,
  hasColour: boolean,
): string {
  const size = sizeOf(stdout);
  const changes = linesFor(size).map(({ text, tone }, row) => {
    const painted = paint(text, tone, hasColour);
    if (shown[row] === painted) return "";
    shown[row] = painted;
    // With the cursor past the last column, some terminals would erase that column.
    const rest = stringWidth(text) < size.columns ? eraseEndLine : "";
    return cursorTo(0, row) + painted + rest;
  });
  return changes.join("");
}

/**
 * Node writes to a terminal and waits until it has taken it, so that a hung one (a remote session that was cut off)
 * would hold up the feed. There is no other door to this than the handle.
 */
export function setBlocking(stdout: WriteStream, isBlocking: boolean): void {
  const { _handle: handle } = stdout as { readonly _handle?: { setBlocking?(isBlocking: boolean): void } };
  handle?.setBlocking?.(isBlocking);
}

function sizeOf({ columns, rows }: { readonly columns?: number; readonly rows?: number }): ViewSize {
  // 0 is what a terminal says that was never told its size.
  return { columns: columns || USUAL_SIZE.columns, rows: rows || USUAL_SIZE.rows };
}

function paint(text: string, tone: Tone, hasColour: boolean): string {
  if (tone === "plain" || text === "") return text;
  const format = tone === "alarm" && hasColour ? (["bold", "red"] as const) : (["bold"] as const);
  return styleText([...format], text, { validateStream: false });
}
