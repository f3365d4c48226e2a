/**
 * What must an emulated microcontroller be able to do, to be put on the bench? Harness layer: a seam; it knows no emulator.
 *
 * The bench owns the time: nothing goes on but by these two, and the same calls give the same bytes at the same cycles.
 */

export const CYCLES_PER_MICRO = 16;

/** Where a stretch of time ended. */
export interface Stretch {
  readonly cycle: number;
  /** Whether the part sleeps, with no byte on its way in or out. */
  readonly isIdle: boolean;
  /** What it sent. */
  readonly bytes: Uint8Array;
}

export interface Emulation {
  /** As messages name it, such as `avr`. */
  readonly name: string;
  /** Sends bytes in, and lets time go on until the part is idle, at most to a cycle. Rejects with a TransportError. */
  settle(bytes: Uint8Array, untilCycle: number): Promise<Stretch>;
  /** Lets time go on to a cycle, at most until a byte is sent. Rejects with a TransportError. */
  advance(untilCycle: number): Promise<Stretch>;
  /** Never rejects. */
  close(): Promise<void>;
}
