/**
 * Who wakes the pacer on time? A tickless driver for virtual time. Pacing layer.
 */
import { LAST_MICROS, type Micros } from "./limits.js";
import type { State } from "./state.js";
import { stepInPlace, type StrokeMade } from "./step.js";

/**
 * Wakes `s` whenever it asks, up to and including `untilMicros`, and tells `onStep` of every wake-up.
 *
 * Call it before an input of `untilMicros`: so a stroke that is due then acts first. Each wake-up asks for a later
 * one, so this ends: at the last time there is, LAST_MICROS, at the latest, past which time stands still.
 */
export function wakeUntil(s: State, untilMicros: Micros, onStep: (s: State, made: StrokeMade) => void): void {
  while (s.wakeAtMicros <= untilMicros && s.wakeAtMicros <= LAST_MICROS) {
    const made = stepInPlace(s, { kind: "wake", atMicros: s.wakeAtMicros });
    onStep(s, made);
  }
}
