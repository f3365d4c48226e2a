/**
 * What time is it, and who wakes the pacer on time? One clock and one timer over any RxJS scheduler.
 *
 * Reactive layer. Invariants: time never goes back, and is always read off the scheduler, so that no delay adds up;
 * a wake-up that was asked for comes at or after its time, or is asked for again.
 */
import type { SchedulerLike, Subscription } from "rxjs";
import { type Micros, NO_WAKE } from "../pacing/index.js";

/** Longest delay that timers keep, 2^31 − 1 ms; a longer one would fire at once. */
const LONGEST_DELAY_MILLIS = 2_147_483_647;
/** Some schedulers do at once, before they return, what has no delay. */
const LEAST_DELAY_MILLIS = 0.001;

export interface WakeTimer {
  /**
   * Whole microseconds since the start. Where the scheduler's clock is set back, time stands still for that moment
   * and goes on; where it is set forward, time has passed.
   */
  nowMicros(): Micros;
  /** Sees to it that `onWake` is called at `atMicros`; it may be called earlier too. NO_WAKE asks for nothing. */
  wakeBy(atMicros: Micros): void;
  readonly cancel: () => void;
}

/** Starts a clock at `startMicros`, now. `onWake` may come early: it has to look at the time, and ask again. */
export function startWakeTimer(scheduler: SchedulerLike, startMicros: Micros, onWake: () => void): WakeTimer {
  let lastMillis = scheduler.now();
  let originMillis = lastMillis;
  let pending: Subscription | undefined;
  let pendingMicros = NO_WAKE;
  let firedEarly = false;

  const nowMicros = (): Micros => {
    const millis = scheduler.now();
    if (millis < lastMillis) originMillis -= lastMillis - millis;
    lastMillis = millis;
    return startMicros + Math.round((millis - originMillis) * 1_000);
  };

  const fire = (): void => {
    firedEarly = nowMicros() < pendingMicros;
    pending = undefined;
    pendingMicros = NO_WAKE;
    onWake();
  };

  return {
    nowMicros,
    wakeBy(atMicros) {
      // A timer that is set for an earlier time stays: waking early is cheap, and most contacts move the wake-up on.
      if (atMicros >= pendingMicros) return;
      pending?.unsubscribe();
      pendingMicros = atMicros;
      const exactMillis = (atMicros - nowMicros()) / 1_000;
      // Virtual time keeps fractions of a millisecond. Timers cut them off and fire early: rounding up then ends it.
      const millis = firedEarly ? Math.ceil(exactMillis) : exactMillis;
      pending = scheduler.schedule(
        fire,
        Math.max(LEAST_DELAY_MILLIS, Math.min(millis, LONGEST_DELAY_MILLIS)),
      );
    },
    cancel: () => {
      pending?.unsubscribe();
      pending = undefined;
      pendingMicros = NO_WAKE;
    },
  };
}
