/**
 * How do bytes get to a device and back? The seam between the link and whatever carries it, and the one door to time.
 *
 * Harness layer. Everything above it is the same for a mock, a serial port, a TCP socket and a pseudo-terminal. Bytes
 * come in arbitrary pieces.
 */
import type { Micros } from "../../lib/pacing/index.js";

export interface Transport {
  /** As messages name it, such as `serial:/dev/ttyUSB0`. */
  readonly name: string;
  /** Resolves when the bytes have been handed on; rejects with a {@link TransportError} if they cannot be. */
  send(bytes: Uint8Array): Promise<void>;
  /** Told every piece that arrives, in order. One listener; bytes from before it was set are kept for it. */
  onBytes(take: (bytes: Uint8Array) => void): void;
  /** Told once, with a reason in words, when the other side has gone away. */
  onGone(tell: (why: string) => void): void;
  /** Never rejects; no listener is called after it. */
  close(): Promise<void>;
}

/** The bytes could not be carried: what happened, and what to do. */
export class TransportError extends Error {
  override readonly name = "TransportError";

  constructor(
    message: string,
    readonly mend: string,
  ) {
    super(message);
  }
}

/** The bench's own time: monotonic, never the wall clock. */
export interface BenchClock {
  nowMicros(): Micros;
  /** Calls `act` once, so much later, unless the answer is called before. */
  after(micros: Micros, act: () => void): () => void;
}
