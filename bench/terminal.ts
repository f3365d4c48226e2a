/**
 * How does a device come to stand behind a real serial path? As a process of its own on a kernel pseudo-terminal. Bench.
 *
 * This file is that process too. In one process a write that fills the terminal would wait for a reader that waits for
 * it.
 */
import { spawn } from "node:child_process";
import { closeSync } from "node:fs";
import { createRequire } from "node:module";
import { argv, execArgv, execPath, stdin, stdout } from "node:process";
import { ReadStream } from "node:tty";
import { fileURLToPath } from "node:url";
import { MOCK_PROFILE } from "../harness/devices/mock.js";
import { runModel } from "../harness/devices/model.js";
import { newDeviceEnd } from "../harness/link/device-end.js";

interface PtyBinary {
  open(
    columns: number,
    rows: number,
  ): { readonly master: number; readonly slave: number; readonly pty: string };
}

export interface TerminalDevice {
  /** What a serial port is opened on. */
  readonly path: string;
  close(): void;
}

const FILE = fileURLToPath(import.meta.url);
const AS_DEVICE = "as-device";

if (argv[1] === FILE && argv[2] === AS_DEVICE) beDevice();

/** Starts the virtual controller on the master's side. */
export function openTerminalDevice(): TerminalDevice {
  // The package's own `open` reads from both ends as soon as it has them: only what it is built on gives bare handles.
  const required = createRequire(import.meta.url)("@lydell/node-pty/requireBinary.js") as {
    requireBinary(file: string): unknown;
  };
  const { master, slave, pty } = (required.requireBinary("pty.node") as PtyBinary).open(80, 24);
  // Held open, so that the path lives while no one else has it; raw, or the kernel would echo.
  const keeper = new ReadStream(slave);
  keeper.setRawMode(true);
  const program = spawn(execPath, [...execArgv, FILE, AS_DEVICE], { stdio: [master, master, "inherit"] });
  return {
    path: pty,
    close() {
      program.kill("SIGKILL");
      closeSync(master);
      keeper.destroy();
    },
  };
}

function beDevice(): void {
  // What comes of one piece goes out in one piece, as from a device with a send buffer.
  let said: Uint8Array[] = [];
  const flush = (): void => {
    stdout.write(Buffer.concat(said));
    said = [];
  };
  const device = newDeviceEnd(runModel, MOCK_PROFILE, (bytes) => said.push(bytes));
  flush();
  stdin.on("data", (bytes: Buffer) => {
    device.take(bytes);
    flush();
  });
}
