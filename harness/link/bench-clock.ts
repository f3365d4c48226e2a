/**
 * What time is it at the bench? The one door of the link to real time. Harness layer.
 */
import { performance } from "node:perf_hooks";
import type { BenchClock } from "./transport.js";

const MICROS_PER_MILLI = 1_000;

/** Monotonic time of this process. */
export const realClock: BenchClock = {
  nowMicros: () => Math.round(performance.now() * MICROS_PER_MILLI),
  after(micros, act) {
    const timer = setTimeout(act, micros / MICROS_PER_MILLI);
    return () => {
      clearTimeout(timer);
    };
  },
};
