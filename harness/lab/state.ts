/**
 * What is the state of the lab? What was written, when prime was held, and which moment is looked at. Harness layer.
 *
 * Everything else on the page is worked out from it. Values that never change; a change makes another state.
 */
import { DAY, HOUR, type Micros, MINUTE } from "../../lib/pacing/index.js";
import { START_TEXTS, type Texts } from "./fields.js";

/** One press of prime, from its start to its release, within the day. */
export interface Press {
  readonly onMicros: Micros;
  readonly offMicros: Micros;
}

/** Most presses that are kept; the oldest goes first. */
export const PRESSES_MOST = 40;

/** Widths of the closer look. */
export const WINDOWS: readonly { readonly micros: Micros; readonly shown: string }[] = [
  { micros: 2 * MINUTE, shown: "2 minutes" },
  { micros: 10 * MINUTE, shown: "10 minutes" },
  { micros: HOUR, shown: "1 hour" },
];

export interface LabState {
  readonly texts: Texts;
  /** In order of time, none overlapping. */
  readonly presses: readonly Press[];
  /** The moment that is looked at, from 0 to DAY. */
  readonly atMicros: Micros;
  readonly windowMicros: Micros;
}

export const START: LabState = {
  texts: START_TEXTS,
  presses: [],
  atMicros: 10 * HOUR,
  windowMicros: 10 * MINUTE,
};

/** The state with one more press; it takes the place of those that it overlaps. */
export function withPress(state: LabState, press: Press): LabState {
  const apart = state.presses.filter(
    ({ onMicros, offMicros }) => offMicros < press.onMicros || onMicros > press.offMicros,
  );
  const presses = [...apart, press].sort((a, b) => a.onMicros - b.onMicros);
  return { ...state, presses: presses.slice(-PRESSES_MOST) };
}

/** The moment, kept within the day. */
export function withinDay(micros: number): Micros {
  return Math.min(DAY, Math.max(0, Math.round(micros)));
}
