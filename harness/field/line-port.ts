/**
 * The modem-control lines of a serial port, as two outputs and three inputs. Harness layer.
 *
 * Of whatever opens ports only this file knows. A port is opened with its lines dropped as soon as they can be, and its
 * lock held; when it is closed, or its program dies, the system drops them (HUPCL of POSIX termios).
 */
import { autoDetect } from "@serialport/bindings-cpp";
import { withDeadline } from "../devices/port.js";
import { openMend } from "../devices/serial.js";
import { TransportError } from "../link/transport.js";
import { FieldError } from "./field.js";
import type { ContactLine, StrokeLine } from "./spec.js";

export type InputLines = { readonly [line in ContactLine]: boolean };
export type OutputLines = { readonly [line in StrokeLine]: boolean };

/** An open port. Every call rejects with what the system says. */
export interface LinePort {
  get(): Promise<InputLines>;
  /** Sets both; so does what opens ports, which resets every line that it is not told of. */
  set(lines: OutputLines): Promise<void>;
  close(): Promise<void>;
}

/** What opens ports, as far as it is used here: a binding of the serial port library. */
export interface LineBinding {
  open(options: {
    readonly path: string;
    readonly baudRate: number;
    readonly lock: boolean;
    readonly hupcl: boolean;
  }): Promise<{
    get(): Promise<InputLines>;
    set(
      lines: OutputLines & { readonly brk: boolean; readonly cts: boolean; readonly dsr: boolean },
    ): Promise<void>;
    close(): Promise<void>;
  }>;
}

/** Nothing is sent or received: any rate does. */
const BAUD_RATE = 9_600;

/** Opens a port; rejects with a {@link FieldError}. Its lines are as the system left them. */
export async function openLinePort(path: string, binding: LineBinding = autoDetect()): Promise<LinePort> {
  let port: Awaited<ReturnType<LineBinding["open"]>> | undefined;
  let isLate = false;
  try {
    await withDeadline(`opening ${path}`, openMend, (done) => {
      binding.open({ path, baudRate: BAUD_RATE, lock: true, hupcl: true }).then(
        (opened) => {
          port = opened;
          // Opened after nobody waits for it any more: it would stay locked, with its lines raised.
          if (isLate) opened.close().catch(() => undefined);
          done();
        },
        (error: unknown) => {
          done(error instanceof Error ? error : new Error(String(error)));
        },
      );
    });
  } catch (error) {
    isLate = true;
    if (!(error instanceof TransportError)) throw error;
    throw new FieldError({ kind: "unplugged", message: error.message, mend: error.mend });
  }
  const opened = port;
  if (opened === undefined) throw new Error("a port was opened and is not there");
  return {
    get: () => opened.get(),
    set: ({ rts, dtr }) => opened.set({ rts, dtr, brk: false, cts: false, dsr: false }),
    close: () => opened.close(),
  };
}
