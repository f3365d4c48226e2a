/**
 * How does a person at a terminal see a live feed and act on it? Harness layer.
 *
 * Keys are the first letters of what they do: p prime, h hold, g go on, r reset, q quit and then y. Hold and go on have
 * a key each, since one that turned over would flutter while it repeats. Text that is pasted presses nothing.
 */
import { emitKeypressEvents, type Key } from "node:readline";
import type { ReadStream, WriteStream } from "node:tty";
import type { DriveControls, DriveStatus } from "./status.js";
import { viewLines } from "./view-lines.js";
import { openScreen } from "./view-screen.js";

export interface View {
  /** Draws what has changed. */
  show(status: DriveStatus): void;
  /** Puts the terminal back as it was. May be called again, which does nothing. */
  close(): void;
}

/** Whether a view can be drawn and keys can be read: otherwise plain lines are for people too. */
export function canView(
  stdin: { isTTY?: boolean },
  stdout: { isTTY?: boolean },
  term: string | undefined,
): boolean {
  return stdin.isTTY === true && stdout.isTTY === true && term !== "dumb";
}

/**
 * Takes the terminal over until `close`, or until the process ends: nothing else may write to it meanwhile. `quit` is
 * asked for at most once: by q and y, by Ctrl-C, or since the terminal has gone. A further Ctrl-C is a SIGINT.
 */
export function openView(stdin: ReadStream, stdout: WriteStream, controls: DriveControls): View {
  let status: DriveStatus | undefined;
  let isLeaving = false;
  let hasQuit = false;
  let isPasting = false;

  const draw = (): void => {
    screen.draw((size) => (status === undefined ? [] : viewLines(status, size, isLeaving)));
  };
  const quit = (): void => {
    isLeaving = false;
    if (!hasQuit) controls.quit();
    hasQuit = true;
  };
  const act = (name: string | undefined): void => {
    isLeaving = name === "q";
    if (name === "p") controls.prime();
    else if (name === "h") controls.hold(true);
    else if (name === "g") controls.hold(false);
    else if (name === "r") controls.reset();
  };
  const onKey = (_text: string | undefined, { name, ctrl, meta }: Key): void => {
    if (name === "paste-start" || name === "paste-end") isPasting = name === "paste-start";
    else if (isPasting || meta === true) return;
    else if (ctrl === true) {
      if (name === "l") screen.redraw();
      if (name !== "c") return;
      if (hasQuit) process.kill(process.pid, "SIGINT");
      quit();
    } else if (isLeaving && name === "y") quit();
    else if (!hasQuit) act(name);
    draw();
  };
  const onContinue = (): void => {
    // The shell that it was stopped to may have changed the terminal's mode; the same mode twice would do nothing.
    stdin.setRawMode(false);
    stdin.setRawMode(true);
    screen.redraw();
  };

  const screen = openScreen(stdout, () => {
    process.off("SIGCONT", onContinue);
    stdin.off("keypress", onKey).off("end", quit).off("error", quit);
    stdin.on("error", () => undefined);
    stdin.setRawMode(false);
    stdin.pause();
  });
  emitKeypressEvents(stdin);
  stdin.setRawMode(true);
  stdin.on("keypress", onKey).on("end", quit).on("error", quit);
  stdin.resume();
  process.on("SIGCONT", onContinue);
  return {
    show(next) {
      status = next;
      draw();
    },
    close() {
      screen.close();
    },
  };
}
