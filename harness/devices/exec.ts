/**
 * A program on a pseudo-terminal as a transport: it reads and writes the link on its standard streams. Harness layer.
 *
 * The terminal is made raw before the program starts, since the kernel would otherwise echo and translate. When the
 * port is closed the program is hung up, and killed if that does not end it.
 */
import { spawn } from "@lydell/node-pty";
import { type Transport, TransportError } from "../link/transport.js";
import { PortEars } from "./port.js";

/** How long a program may take to end after its terminal was hung up. */
const END_MILLIS = 1_000;

/** The command is handed on whole, so that `a && b` is one. */
const RAW_FIRST = 'stty raw -echo && exec /bin/sh -c "$1"';

/** Starts a command by the shell; rejects with a TransportError. */
export function openExec(command: string): Promise<Transport> {
  const name = `exec:${command}`;
  const ears = new PortEars();
  let terminal;
  try {
    terminal = spawn("/bin/sh", ["-c", RAW_FIRST, "sh", command], { encoding: null });
  } catch (error) {
    const words = error instanceof Error ? error.message : String(error);
    return Promise.reject(new TransportError(`${name} cannot be started: ${words}`, "check the command"));
  }
  const program = terminal;
  let hasEnded = false;
  let tellEnded: () => void = () => undefined;
  // Raw bytes were asked for, which the types do not know.
  program.onData((bytes: unknown) => {
    ears.hear(bytes as Buffer);
  });
  program.onExit(({ exitCode, signal }) => {
    hasEnded = true;
    ears.gone(
      signal ? `the program was ended by signal ${signal}` : `the program ended with status ${exitCode}`,
    );
    tellEnded();
  });
  return Promise.resolve({
    name,
    onBytes: ears.onBytes,
    onGone: ears.onGone,
    async send(bytes) {
      ears.check(name);
      // Types say text; bytes are passed on as they are.
      program.write(Buffer.from(bytes) as unknown as string);
      return Promise.resolve();
    },
    async close() {
      ears.close();
      if (hasEnded) return;
      program.kill();
      await new Promise<void>((resolve) => {
        const timer = setTimeout(() => {
          if (!hasEnded) program.kill("SIGKILL");
          resolve();
        }, END_MILLIS);
        tellEnded = () => {
          clearTimeout(timer);
          resolve();
        };
      });
    },
  });
}
