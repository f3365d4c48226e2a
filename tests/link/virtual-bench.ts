/**
 * How do bench and device run side by side on a clock of the test's own? Test support.
 *
 * One virtual clock: it goes on to the next timer whenever nothing else is left to do. Both ends and the wire between
 * them live on it, so that an hour passes in no time and every run is the same.
 */
import { setImmediate } from "node:timers/promises";
import type { StartRun } from "../../harness/device.js";
import { newDeviceEnd } from "../../harness/link/device-end.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import type { BenchClock, Transport } from "../../harness/link/transport.js";
import type { Micros } from "../../lib/pacing/index.js";

interface Timer {
  readonly atMicros: Micros;
  readonly act: () => void;
}

export class VirtualClock implements BenchClock {
  private atMicros: Micros = 0;
  private readonly timers = new Set<Timer>();

  nowMicros(): Micros {
    return this.atMicros;
  }

  after(micros: Micros, act: () => void): () => void {
    const timer = { atMicros: this.atMicros + Math.max(0, micros), act };
    this.timers.add(timer);
    return () => {
      this.timers.delete(timer);
    };
  }

  /** Lets time go on till the work is done; throws after `mostMicros`. */
  async run<T>(work: Promise<T>, mostMicros: Micros): Promise<T> {
    const state = { isDone: false as boolean };
    const ending = work.finally(() => (state.isDone = true));
    ending.catch(() => undefined); // whoever awaits it below hears of it
    const endMicros = this.atMicros + mostMicros;
    for (;;) {
      await setImmediate();
      if (state.isDone) return ending;
      let next: Timer | undefined;
      for (const timer of this.timers) if (next === undefined || timer.atMicros < next.atMicros) next = timer;
      if (next === undefined) throw new Error("nobody waits for anything, and the work is not done");
      if (next.atMicros > endMicros) throw new Error(`not done after ${mostMicros} µs`);
      this.timers.delete(next);
      this.atMicros = next.atMicros;
      next.act();
    }
  }
}

/** A clock that runs fast by so many millionths and reads something else at the start. */
export function skewed(clock: BenchClock, ppm: number, startMicros: Micros): BenchClock {
  const rate = 1 + ppm / 1_000_000;
  return {
    nowMicros: () => startMicros + Math.floor(clock.nowMicros() * rate),
    after: (micros, act) => clock.after(Math.ceil(micros / rate), act),
  };
}

export interface Wire {
  /** Every line that went over it, in order, without its check: `> ` to the device, `< ` from it. */
  readonly lines: string[];
  readonly transport: Transport;
  /** Bytes as if the device had sent them. */
  readonly inject: (text: string) => void;
  /** The cable is pulled. */
  readonly pull: () => void;
}

/** What stands at the far end of a wire. */
export type FarEnd = (send: (bytes: Uint8Array) => void) => {
  readonly take: (bytes: Uint8Array) => void;
  readonly close: () => void;
};

/** A wire on which bytes take `delay` µs in either direction; they never overtake each other. */
export function wire(clock: BenchClock, far: FarEnd, delay: () => Micros = () => 0): Wire {
  const lines: string[] = [];
  let isOpen = true;
  let take: (bytes: Uint8Array) => void = () => undefined;
  let tell: (why: string) => void = () => undefined;
  const carrier = (mark: string, arrive: (bytes: Uint8Array) => void): ((bytes: Uint8Array) => void) => {
    let lastMicros: Micros = 0;
    return (bytes) => {
      const text = Buffer.from(bytes).toString("latin1");
      for (const line of text.split("\n")) if (line !== "") lines.push(mark + line.slice(0, -5));
      lastMicros = Math.max(lastMicros, clock.nowMicros() + delay());
      clock.after(lastMicros - clock.nowMicros(), () => {
        if (isOpen) arrive(bytes);
      });
    };
  };
  const toBench = carrier("< ", (bytes) => {
    take(bytes);
  });
  const end = far(toBench);
  const toDevice = carrier("> ", (bytes) => {
    end.take(bytes);
  });
  return {
    lines,
    inject(text) {
      toBench(Buffer.from(text, "latin1"));
    },
    pull() {
      isOpen = false;
      tell("the cable was pulled");
    },
    transport: {
      name: "wire",
      send(bytes) {
        toDevice(bytes);
        return Promise.resolve();
      },
      onBytes(listener) {
        take = listener;
      },
      onGone(listener) {
        tell = listener;
      },
      close() {
        isOpen = false;
        end.close();
        return Promise.resolve();
      },
    },
  };
}

/** A device of the library behind a wire. */
export function endOf(start: StartRun, profile: DeviceProfile, clock?: BenchClock): FarEnd {
  return (send) => newDeviceEnd(start, profile, send, clock);
}
