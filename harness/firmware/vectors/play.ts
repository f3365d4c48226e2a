/**
 * What does it take to show a port of the core that it is right? The form of the stimuli of the golden vectors.
 *
 * Harness layer. One vector for each law and each mode, as short as shows it, in round numbers that a person can follow
 * with a pencil; then random ones for what nobody thought of. All durations fit a 32-bit counter of microseconds with
 * room to spare, as the C twin asks.
 */
import type { LawName } from "../../../lib/laws/index.js";
import type { Micros, SettingsInput } from "../../../lib/pacing/index.js";

/** A run to be played and written down. */
export interface Play {
  readonly name: string;
  /** What it shows, a line each. */
  readonly shows: readonly string[];
  readonly laws: readonly LawName[];
  readonly settings: SettingsInput;
  /**
   * What happens, in order: `SECONDS EVENT DETAIL`, seconds from the start. Wake-ups come by themselves, as asked. The
   * detail of `settings` names what is other than in `settings` above.
   */
  readonly events: readonly string[];
  /** Seconds up to which wake-ups are followed after the last event. */
  readonly until: number;
  /** The moment of the start; default 0. */
  readonly startMicros?: Micros;
  /** How late every wake-up comes that was asked for; default not at all. */
  readonly latenessMicros?: Micros;
}

export const SECOND = 1_000_000;

/** Two strokes a contact, at most one a second; alarms of the line off. What a vector is not about stays like this. */
export const PLAIN: SettingsInput = {
  strokes: 2,
  contacts: 1,
  leastSpacingMicros: SECOND,
  owedLimitStrokes: 6,
  graceMicros: 30 * SECOND,
  longestPrimeMicros: 5 * SECOND,
  primeSpacingMicros: 1_500_000,
  guardPeriodMicros: 60 * SECOND,
  closedMicros: 10_000,
  openMicros: 20_000,
  stuckMicros: 0,
  silentMicros: 0,
};

/** The same, fed as soon as the cap allows. */
export const PROMPT: SettingsInput = { ...PLAIN, cadence: "prompt" };

/** The event every so many seconds. */
export function every(seconds: number, count: number, event = "contact", from = 0): string[] {
  return Array.from({ length: count }, (_, i) => `${Number((from + i * seconds).toFixed(6))} ${event}`);
}
