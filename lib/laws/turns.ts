/**
 * When did the controller's mode last turn? Only what is told with a tolerance asks, so only then is it noted. Laws layer.
 */
import type { Micros } from "../pacing/index.js";
import type { TraceEvent } from "../trace/index.js";

export interface Turns {
  /** Since when it is stopped without a break, ∞ while it is not. */
  stoppedSinceMicros: Micros;
  /** The last change of settings or of the power, the last reset, and when prime was last no more obeyed; −∞ before. */
  changedMicros: Micros;
  resetMicros: Micros;
  primeEndMicros: Micros;
}

export function newTurns(): Turns {
  return {
    stoppedSinceMicros: Infinity,
    changedMicros: -Infinity,
    resetMicros: -Infinity,
    primeEndMicros: -Infinity,
  };
}

/** Notes what an event, just applied, has turned. `primedUntilMicros` is up to when prime would have been obeyed. */
export function noteTurns(
  turns: Turns,
  { kind, atMicros }: TraceEvent,
  now: { readonly isStopped: boolean; readonly isPriming: boolean },
  primedUntilMicros: Micros,
): void {
  if (!now.isStopped) turns.stoppedSinceMicros = Infinity;
  else if (turns.stoppedSinceMicros === Infinity) turns.stoppedSinceMicros = atMicros;
  if (kind === "settings" || kind === "power-off" || kind === "power-on") turns.changedMicros = atMicros;
  if (kind === "reset") turns.resetMicros = atMicros;
  if (!now.isPriming && primedUntilMicros > -Infinity)
    turns.primeEndMicros = Math.min(atMicros, primedUntilMicros);
}
