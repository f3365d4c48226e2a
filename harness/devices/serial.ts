/**
 * A serial port of this machine as a transport. Harness layer.
 *
 * Always a stream of its own: one that failed reports success when it is opened again, and is dead. The port is locked,
 * so that no second program reads half of the answers.
 */
import { autoDetect } from "@serialport/bindings-cpp";
import { SerialPortStream } from "@serialport/stream";
import type { Transport } from "../link/transport.js";
import { PortEars, withDeadline } from "./port.js";

export const USUAL_BAUD_RATE = 115_200;

/** Opens a port; rejects with a TransportError. */
export async function openSerial(path: string, baudRate: number = USUAL_BAUD_RATE): Promise<Transport> {
  const name = `serial:${path}`;
  const stream = new SerialPortStream({ binding: autoDetect(), path, baudRate, lock: true, autoOpen: false });
  const ears = new PortEars();
  stream.on("error", (error: Error) => {
    ears.gone(error.message);
  });
  stream.on("close", (error?: Error | null) => {
    ears.gone(error?.message ?? "the port was closed");
  });
  stream.on("data", (bytes: Buffer) => {
    ears.hear(bytes);
  });
  let isLate = false;
  const opening = withDeadline(`opening ${path}`, openMend, (done) => {
    stream.open((error) => {
      // Opened after nobody waits for it any more: it would stay locked.
      if (isLate && !error) stream.close(() => undefined);
      done(error);
    });
  });
  await opening.catch((error: unknown) => {
    isLate = true;
    throw error;
  });
  return {
    name,
    onBytes: ears.onBytes,
    onGone: ears.onGone,
    async send(bytes) {
      ears.check(name);
      await withDeadline(
        `writing to ${path}`,
        () => "check the cable and the device",
        (done) => {
          stream.write(Buffer.from(bytes), done);
        },
      );
    },
    async close() {
      ears.close();
      if (!stream.isOpen) return;
      await withDeadline(
        `closing ${path}`,
        () => "",
        (done) => {
          stream.close(done);
        },
      ).catch(() => undefined);
    },
  };
}

/** What to do about a port that does not open, by what the system said. */
export function openMend({ message }: Pick<Error, "message">): string {
  if (/lock|busy|temporarily unavailable/i.test(message))
    return "another program holds the port: end it, then try again";
  if (/permission|access/i.test(message))
    return "ask for the right to use the port (often a group such as dialout)";
  if (/no such file|not found|ENOENT/i.test(message))
    return "plug it in; `tallystroke ports` lists what there is";
  return "`tallystroke ports` lists what there is";
}
