/**
 * What time is it on the device's counter, in µs from the start of the run, and back? Harness layer; LINK.md, section 7.
 */
import { type Micros, unwrapTicks } from "../../lib/pacing/index.js";
import type { Greeting } from "./greeting.js";
import { LinkFault } from "./link-fault.js";
import type { Ticks } from "./message.js";

const MICROS_PER_SECOND = 1_000_000;

export class DeviceTime {
  /** µs that the counter can tell apart. */
  readonly rangeMicros: Micros;
  private readonly wrap: number;
  private lastTicks: number;

  constructor(
    private readonly greeting: Pick<Greeting, "ticksPerSecond" | "bits">,
    private readonly startTicks: Ticks,
  ) {
    this.wrap = 2 ** greeting.bits;
    this.lastTicks = startTicks;
    this.rangeMicros = Math.floor((this.wrap / greeting.ticksPerSecond) * MICROS_PER_SECOND);
  }

  /** The last reading. */
  get nowMicros(): Micros {
    return this.microsOf(this.lastTicks);
  }

  /** Unwraps a reading; throws a LinkFault if it is no reading of this counter, or earlier than the last. */
  read(raw: Ticks): Micros {
    const ticks = unwrapTicks(this.lastTicks, raw, this.greeting.bits);
    if (raw >= this.wrap || ticks - this.lastTicks >= this.wrap / 2) {
      throw new LinkFault("nonsense", `time stamp ${raw} goes back, or is past the counter's width`);
    }
    this.lastTicks = ticks;
    return this.microsOf(ticks);
  }

  /** Unwraps a reading that may be a little earlier than the last, and lets time go on only if it is later. */
  near(raw: Ticks): Micros {
    const ticks = unwrapTicks(this.lastTicks, raw, this.greeting.bits);
    return ticks - this.lastTicks < this.wrap / 2 ? this.read(raw) : this.microsOf(ticks - this.wrap);
  }

  /** The counter's reading at a moment of the run; the nearest tick. */
  rawAt(micros: Micros): Ticks {
    return (this.startTicks + this.ticksOf(micros)) % this.wrap;
  }

  private ticksOf(micros: Micros): number {
    return Math.round((micros * this.greeting.ticksPerSecond) / MICROS_PER_SECOND);
  }

  private microsOf(ticks: number): Micros {
    return Math.round(((ticks - this.startTicks) * MICROS_PER_SECOND) / this.greeting.ticksPerSecond);
  }
}

/** The reading at a moment of a clock that was 0 at some start. */
export function ticksAt(
  micros: Micros,
  { ticksPerSecond, bits }: Pick<Greeting, "ticksPerSecond" | "bits">,
): Ticks {
  return Math.round((micros * ticksPerSecond) / MICROS_PER_SECOND) % 2 ** bits;
}
