/**
 * What does the device's counter read, and which moment does a reading stand for? LINK.md, section 7.
 *
 * Harness layer. Counts are unwrapped inside and wrapped on the line. The counter stands still, or runs by the clock.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { DeviceProfile } from "./device-end-profile.js";
import type { Ticks } from "./message.js";
import type { BenchClock } from "./transport.js";

/** Turns a count of ticks into µs, rounded up, and back, rounded down: of a whole tick one undoes the other. */
export interface TickScale {
  readonly microsOf: (ticks: number) => Micros;
  readonly ticksOf: (micros: Micros) => number;
}

const MICROS_PER_SECOND = 1_000_000;

export function tickScale(ticksPerSecond: number): TickScale {
  const common = commonDivisor(MICROS_PER_SECOND, ticksPerSecond);
  const micros = MICROS_PER_SECOND / common;
  const ticks = ticksPerSecond / common;
  // The whole part and the rest apart: the product of all of it may be too large to be exact.
  return {
    microsOf: (count) => Math.floor(count / ticks) * micros + Math.ceil(((count % ticks) * micros) / ticks),
    ticksOf: (count) => Math.floor(count / micros) * ticks + Math.floor(((count % micros) * ticks) / micros),
  };
}

function commonDivisor(a: number, b: number): number {
  return b === 0 ? a : commonDivisor(b, a % b);
}

export class DeviceCounter {
  private readonly range: number;
  private readonly scale: TickScale;
  private ticks = 0;
  /** While it runs: the clock when it was at `ticks`. */
  private sinceMicros: Micros | undefined;

  /** Starts at 0; without a clock it never runs by itself. */
  constructor(
    profile: Pick<DeviceProfile, "ticksPerSecond" | "width">,
    private readonly clock: BenchClock | undefined,
  ) {
    this.range = 2 ** profile.width;
    this.scale = tickScale(profile.ticksPerSecond);
    this.runFrom(0);
  }

  /** The count now, unwrapped. On a clock that runs each reading may differ. */
  read(): number {
    if (this.clock === undefined || this.sinceMicros === undefined) return this.ticks;
    return this.ticks + this.scale.ticksOf(this.clock.nowMicros() - this.sinceMicros);
  }

  standAt(ticks: number): void {
    this.ticks = ticks;
    this.sinceMicros = undefined;
  }

  runFrom(ticks: number): void {
    this.ticks = ticks;
    this.sinceMicros = this.clock?.nowMicros();
  }

  /** Whether there is such a reading. */
  has(raw: Ticks): boolean {
    return raw < this.range;
  }

  /** Whether a number of ticks is less than half of what the counter can tell apart. */
  isShort(ticks: number): boolean {
    return ticks < this.range / 2;
  }

  /** What a count looks like on the line. */
  rawOf(ticks: number): Ticks {
    return ticks % this.range;
  }

  /** The count that a reading stands for, seen from `from`, or why none can be told. */
  countOf(raw: Ticks, from: number): number | "value" | "late" | "far" {
    if (!this.has(raw)) return "value";
    const ahead = (raw - this.rawOf(from) + this.range) % this.range;
    if (ahead < this.range / 2) return from + ahead;
    return ahead === this.range / 2 ? "far" : "late";
  }
}
