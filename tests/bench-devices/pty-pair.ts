/**
 * How does a program come to stand behind a path that a serial port can be opened on? Test support, for scripts too.
 *
 * A kernel pseudo-terminal pair: the program has the master as its standard streams, the bench opens the other end by
 * its path. This process keeps that end open too and reads nothing of it, so that the terminal stays raw and the path
 * alive while the program is away.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { closeSync } from "node:fs";
import { createRequire } from "node:module";
import { ReadStream } from "node:tty";
import { fileURLToPath } from "node:url";

/** The controller that was written from LINK.md alone, and the meter and pump. */
export const CONTROLLER = fileURLToPath(new URL("controller.mjs", import.meta.url));
export const PLANT = fileURLToPath(new URL("plant.mjs", import.meta.url));

interface OpenPty {
  open(
    columns: number,
    rows: number,
  ): { readonly master: number; readonly slave: number; readonly pty: string };
}

export interface PtyDevice {
  /** What `serial:` opens. */
  readonly path: string;
  /** The program dies on the spot; the cable stays. */
  kill(): Promise<void>;
  /** The program stands still until {@link resume}. */
  stop(): void;
  resume(): void;
  /** Kills the program and starts it afresh, with other arguments if they are given. */
  restart(args?: readonly string[]): Promise<void>;
  /** The program dies and the cable is pulled: the path hangs up. Leaves nothing open. */
  unplug(): Promise<void>;
}

/** Starts a program behind a new path; whoever calls it unplugs it in the end. */
export function openPtyPair(file: string, args: readonly string[] = []): PtyDevice {
  // The package's own `open` reads from both ends as soon as it has them: only what it is built on gives bare handles.
  const required = createRequire(import.meta.url)("@lydell/node-pty/requireBinary.js") as {
    requireBinary(file: string): unknown;
  };
  const { master, slave, pty: path } = (required.requireBinary("pty.node") as OpenPty).open(80, 24);
  const keeper = new ReadStream(slave);
  keeper.setRawMode(true);
  let isPlugged = true;
  let program = start(args);

  function start(programArgs: readonly string[]): ChildProcess {
    const child = spawn(process.execPath, [file, ...programArgs], { stdio: [master, master, "inherit"] });
    child.on("error", () => undefined); // a program that does not start is a silent device
    return child;
  }

  const kill = async (): Promise<void> => {
    const ending = program;
    if (ending.pid === undefined || ending.exitCode !== null || ending.signalCode !== null) return;
    await new Promise<void>((resolve) => {
      ending.once("exit", () => {
        resolve();
      });
      ending.kill("SIGKILL"); // ends a stopped program too
    });
  };
  return {
    path,
    kill,
    stop: () => void program.kill("SIGSTOP"),
    resume: () => void program.kill("SIGCONT"),
    async restart(programArgs = args) {
      await kill();
      program = start(programArgs);
    },
    async unplug() {
      if (!isPlugged) return;
      isPlugged = false;
      await kill();
      closeSync(master);
      keeper.destroy();
    },
  };
}
