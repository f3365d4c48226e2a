/**
 * What time is it for a live feed? The one door to the clocks. Harness layer.
 *
 * Pacing goes by a monotonic clock alone. Beside it a boot-time clock, which also runs while the machine sleeps, tells
 * for how long a feed was dark; the wall clock is a label and nothing else.
 */
import { readFileSync } from "node:fs";
import { asyncScheduler, type SchedulerAction, type SchedulerLike } from "rxjs";
import type { Micros } from "../../lib/pacing/index.js";

/** A start of the machine, and how long ago it was, sleep included. */
export interface BootTime {
  readonly id: string;
  readonly micros: Micros;
}

export interface DriveClock {
  /** Timers, and `now` in milliseconds of the monotonic clock. */
  readonly scheduler: SchedulerLike;
  /** Undefined where the system does not tell it. */
  boot(): BootTime | undefined;
  /** Milliseconds since 1970, in UTC. */
  wallMs(): number;
}

/** How finely the boot-time clock is told, in µs. */
export const BOOT_TICK_MICROS = 10_000;

const SECOND_MICROS = 1_000_000;

/** The clocks of this machine. */
export function machineClock(): DriveClock {
  const bootId = firstLine("/proc/sys/kernel/random/boot_id");
  return {
    scheduler: {
      now: () => performance.now(),
      // Its timers run for a time; only its own `now` is the wall clock's.
      schedule: <Value>(
        work: (this: SchedulerAction<Value>, state?: Value) => void,
        delay = 0,
        state?: Value,
      ) => asyncScheduler.schedule(work, delay, state),
    },
    boot() {
      const awakeMicros = Number(process.hrtime.bigint() / 1_000n);
      return bootTime(bootId, firstLine("/proc/uptime"), awakeMicros);
    },
    wallMs: () => Date.now(),
  };
}

/**
 * What `/proc/uptime` says, where it is the machine's: a container may be shown its own, which begins anew with it
 * though the boot id stays, and would tell a long dark as a short one. The machine was awake for `awakeMicros`, sleep
 * not included, so that its uptime is no less.
 */
export function bootTime(
  id: string | undefined,
  uptime: string | undefined,
  awakeMicros: Micros,
): BootTime | undefined {
  const micros = Math.round(Number(uptime?.split(" ")[0] ?? NaN) * SECOND_MICROS);
  if (id === undefined || !(micros > awakeMicros - SECOND_MICROS)) return undefined;
  return { id, micros };
}

/**
 * How long after `then` it is by the boot-time clock, never told too short; undefined where the machine was started
 * anew meanwhile, or where nobody knows.
 */
export function darkSince(then: BootTime | undefined, now: BootTime | undefined): Micros | undefined {
  if (then === undefined || now === undefined || then.id !== now.id || now.micros < then.micros) {
    return undefined;
  }
  return now.micros - then.micros + BOOT_TICK_MICROS;
}

/** A journal's time. */
export interface JournalTime {
  /** That of the start, what has passed by the monotonic clock, and what was skipped. */
  readonly nowMicros: () => Micros;
  /** Without what was skipped. */
  readonly elapsedMicros: () => Micros;
  /** The machine slept. */
  readonly skip: (micros: Micros) => void;
}

export function journalTime({ scheduler }: DriveClock, startMicros: Micros): JournalTime {
  const startMillis = scheduler.now();
  let skippedMicros: Micros = 0;
  const elapsedMicros = (): Micros => Math.round((scheduler.now() - startMillis) * 1_000);
  return {
    elapsedMicros,
    nowMicros: () => startMicros + skippedMicros + elapsedMicros(),
    skip: (micros) => {
      skippedMicros += micros;
    },
  };
}

function firstLine(path: string): string | undefined {
  try {
    return readFileSync(path, "utf8").trim();
  } catch {
    return undefined;
  }
}
