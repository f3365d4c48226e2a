/**
 * What every real port has in common as a transport: bytes kept until someone listens, one farewell, waits that end.
 * Harness layer.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { type Transport, TransportError } from "../link/transport.js";

const MICROS_PER_MILLI = 1_000;
/** How long opening, a write or closing may take. */
export const PORT_MICROS: Micros = 5_000_000;
/** Most bytes that are kept for a listener that does not come. */
const KEPT_MOST = 65_536;

/** The half of a transport that listens. */
export class PortEars {
  private kept: Uint8Array[] = [];
  private keptBytes = 0;
  private take: ((bytes: Uint8Array) => void) | undefined;
  private tell: ((why: string) => void) | undefined;
  private why: string | undefined;
  private isClosed = false;

  hear(bytes: Uint8Array): void {
    if (this.isClosed) return;
    if (this.take !== undefined) this.take(bytes);
    else if (this.keptBytes < KEPT_MOST) {
      this.kept.push(bytes);
      this.keptBytes += bytes.length;
    }
  }

  gone(why: string): void {
    if (this.isClosed || this.why !== undefined) return;
    this.why = why;
    this.tell?.(why);
  }

  close(): void {
    this.isClosed = true;
  }

  readonly onBytes: Transport["onBytes"] = (take) => {
    this.take = take;
    for (const bytes of this.kept.splice(0)) take(bytes);
  };

  readonly onGone: Transport["onGone"] = (tell) => {
    this.tell = tell;
    if (this.why !== undefined) tell(this.why);
  };

  /** Throws what a send must reject with where nobody would read it. */
  check(name: string): void {
    if (!this.isClosed && this.why === undefined) return;
    throw new TransportError(
      `${name} is closed${this.why === undefined ? "" : `: ${this.why}`}`,
      "open it anew",
    );
  }
}

/** Calls `act` with a callback and waits for that, but not for ever; rejects with a TransportError. */
export function withDeadline(
  doing: string,
  mendOf: (error: Error) => string,
  act: (done: (error?: Error | null) => void) => void,
): Promise<void> {
  return new Promise((resolve, reject) => {
    const timer = setTimeout(() => {
      reject(
        new TransportError(
          `${doing} took more than ${PORT_MICROS / 1e6} s`,
          "unplug it and plug it in again",
        ),
      );
    }, PORT_MICROS / MICROS_PER_MILLI);
    act((error) => {
      clearTimeout(timer);
      // The serial library repeats the word.
      if (error) {
        const words = error.message.replace(/^Error:? /, "");
        reject(new TransportError(`${doing} failed: ${words}`, mendOf(error)));
      } else resolve();
    });
  });
}
