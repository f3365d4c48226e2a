/**
 * An emulated microcontroller as a transport, with the clock that goes with it. Harness layer.
 *
 * Time is the part's own, and goes on only for what the bench waits for: while bytes are on their way, else up to the moment
 * that the bench wants to be called at. So a device that runs by itself is waited for in virtual time as well, and two runs are
 * the same to the byte. A line goes in when the part has done with the one before, so that pieces do not matter.
 */
import { setImmediate } from "node:timers/promises";
import { type BenchClock, type Transport, TransportError } from "../link/transport.js";
import { CYCLES_PER_MICRO, type Emulation, type Stretch } from "./avr-emulation.js";
import { PortEars } from "./port.js";

const LF = 0x0a;
/** How long a part may be busy with nobody waiting for it before it is given up: 10 minutes of its time. */
const BUSY_MOST_CYCLES = 600_000_000 * CYCLES_PER_MICRO;

/** What the link to an emulated part needs. */
export interface EmulatedPort {
  readonly transport: Transport;
  readonly clock: BenchClock;
}

interface Waiter {
  readonly atCycle: number;
  readonly act: () => void;
}

export function putOnBench(emulation: Emulation): EmulatedPort {
  const bench = new Bench(emulation);
  return { transport: bench.transport, clock: bench.clock };
}

class Bench {
  private readonly ears = new PortEars();
  private unsent: Uint8Array = new Uint8Array();
  private waiters: Waiter[] = [];
  private cycle = 0;
  /** What the part is at when it starts. */
  private isIdle = false;
  private isRunning = false;
  private isClosed = false;
  private hasStopped: Promise<void> = Promise.resolve();

  readonly transport: Transport;

  constructor(private readonly emulation: Emulation) {
    const { ears } = this;
    this.transport = {
      name: emulation.name,
      onBytes: ears.onBytes,
      onGone: ears.onGone,
      send: async (bytes) => {
        ears.check(emulation.name);
        this.unsent = Buffer.concat([this.unsent, bytes]);
        this.goOn();
        return Promise.resolve();
      },
      close: async () => {
        this.isClosed = true;
        ears.close();
        await emulation.close();
        await this.hasStopped;
      },
    };
  }

  readonly clock: BenchClock = {
    nowMicros: () => Math.floor(this.cycle / CYCLES_PER_MICRO),
    after: (micros, act) => {
      const waiter = { atCycle: this.cycle + Math.max(0, micros) * CYCLES_PER_MICRO, act };
      // Those of one moment act in the order in which they asked.
      const later = this.waiters.findIndex(({ atCycle }) => atCycle > waiter.atCycle);
      this.waiters.splice(later < 0 ? this.waiters.length : later, 0, waiter);
      this.goOn();
      return () => {
        this.waiters = this.waiters.filter((each) => each !== waiter);
      };
    },
  };

  private goOn(): void {
    if (this.isRunning || this.isClosed) return;
    this.isRunning = true;
    this.hasStopped = this.run().catch((error: unknown) => {
      if (!(error instanceof TransportError)) throw error;
      this.ears.gone(error.message);
    });
  }

  private async run(): Promise<void> {
    for (;;) {
      // Whoever was told something has its say before time goes on.
      await setImmediate();
      if (this.isClosed) return;
      const next = this.waiters[0];
      if (this.isIdle && this.unsent.length === 0 && next === undefined) {
        this.isRunning = false;
        return;
      }
      const untilCycle = next?.atCycle ?? this.cycle + BUSY_MOST_CYCLES;
      this.take(await this.stretch(untilCycle));
      if (!this.isIdle && next === undefined && this.cycle >= untilCycle) {
        throw new TransportError("the firmware never sleeps", "let it sleep when there is nothing to do");
      }
      const due = this.waiters.filter(({ atCycle }) => atCycle <= this.cycle);
      this.waiters = this.waiters.filter(({ atCycle }) => atCycle > this.cycle);
      for (const { act } of due) act();
    }
  }

  private stretch(untilCycle: number): Promise<Stretch> {
    if (this.isIdle && this.unsent.length === 0) return this.emulation.advance(untilCycle);
    return this.emulation.settle(this.isIdle ? this.nextLine() : new Uint8Array(), untilCycle);
  }

  private nextLine(): Uint8Array {
    const end = this.unsent.indexOf(LF) + 1;
    const line = end === 0 ? this.unsent : this.unsent.subarray(0, end);
    this.unsent = this.unsent.subarray(line.length);
    return line;
  }

  private take({ cycle, isIdle, bytes }: Stretch): void {
    this.cycle = cycle;
    this.isIdle = isIdle;
    if (bytes.length > 0) this.ears.hear(bytes);
  }
}
