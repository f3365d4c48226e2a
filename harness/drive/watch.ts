/**
 * Did the machine sleep, was this program held up, was the wall clock set? Harness layer, pure but for the clocks it reads.
 *
 * Three clocks that should go alike are compared at each look. Nothing here changes a pace: it only tells.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { span } from "../report/words.js";
import type { DriveClock } from "./clock.js";
import type { StartTrouble } from "./restart.js";

/** Between two looks at the least, in ms, while nothing else happens. */
export const BEAT_MILLIS = 250;
/** A look that comes later than this after the last one was held up, in µs. */
export const STALL_MICROS = 2_000_000;
/** How far the clocks may go apart between two looks, in µs: the boot-time clock, and the wall clock. */
const SLEEP_MICROS = 1_000_000;
const STEP_MICROS = 2_000_000;
const TENTH = 100_000;

/** What a look found, in µs; undefined where nothing is amiss. */
export interface Look {
  /** How long the machine slept. */
  readonly sleptMicros?: Micros;
  /** For how long nothing could be done. */
  readonly stalledMicros?: Micros;
  /** How far the wall clock was set on, or back where below zero. */
  readonly steppedMicros?: Micros;
}

/** Starts to watch; each call looks again. */
export function watchClocks(clock: DriveClock): () => Look {
  const read = () => ({
    mono: clock.scheduler.now() * 1_000,
    boot: clock.boot()?.micros,
    wall: clock.wallMs() * 1_000,
  });
  let last = read();
  return () => {
    const now = read();
    const passed = now.mono - last.mono;
    const slept =
      now.boot === undefined || last.boot === undefined ? 0 : Math.round(now.boot - last.boot - passed);
    const isSleep = slept > SLEEP_MICROS;
    const stepped = Math.round(now.wall - last.wall - passed - (isSleep ? slept : 0));
    last = now;
    return {
      ...(isSleep ? { sleptMicros: slept } : {}),
      ...(passed > STALL_MICROS ? { stalledMicros: Math.round(passed) } : {}),
      ...(Math.abs(stepped) > STEP_MICROS ? { steppedMicros: stepped } : {}),
    };
  };
}

/** What a look found, in words. */
export function lookTroubles({ sleptMicros, stalledMicros, steppedMicros }: Look): StartTrouble[] {
  const troubles: StartTrouble[] = [];
  // The clocks are not read in one moment, nor told so finely.
  const about = (micros: Micros): string => span(Math.round(Math.abs(micros) / TENTH) * TENTH);
  if (sleptMicros !== undefined) {
    const words = `The machine slept for ${about(sleptMicros)}: taken as a power cut that long. Forbid it to sleep.`;
    troubles.push({ kind: "suspended", words });
  }
  if (stalledMicros !== undefined) {
    const held = `The program was held up for ${about(stalledMicros)}, in which no stroke was made`;
    troubles.push({ kind: "stalled", words: `${held}. Look for what keeps this machine busy.` });
  }
  if (steppedMicros !== undefined) {
    const way = steppedMicros > 0 ? "on" : "back";
    const words = `The wall clock was set ${way} by ${about(steppedMicros)}. Pacing does not go by it.`;
    troubles.push({ kind: "clock-stepped", words });
  }
  return troubles;
}
