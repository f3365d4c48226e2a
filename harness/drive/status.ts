/**
 * How does a live feed stand? What a view draws and a journal sums, as data. Harness layer.
 */
import type { Alarm, InhibitCause, Micros, ShedCause } from "../../lib/pacing/index.js";

/** How a meter or pump stands. */
export interface EndStatus {
  readonly spec: string;
  readonly name: string;
  readonly isLost: boolean;
}

/** What went wrong outside the pacer. It stands until the feed ends, or until it is over. */
export interface Trouble {
  readonly kind:
    | "meter-lost"
    | "pump-lost"
    | "not-acknowledged"
    | "clock-stepped"
    | "suspended"
    | "stalled"
    | "uncertain-stroke"
    /** Contacts came while nobody listened: what became of them. */
    | "missed-contacts"
    /** The meter's register, or the pump's number, does not go on from the journal's. */
    | "register-odd"
    | "number-odd"
    | "journal";
  /** Since the start of the feed. */
  readonly atMicros: Micros;
  /** One sentence: what happened, what was done, what to do. */
  readonly words: string;
}

/** The water and the dose, where a plan told what a contact and a stroke are. */
export interface DoseStatus {
  readonly litres: number;
  readonly millilitres: number;
  /** Mean of all water so far; undefined before the first contact. */
  readonly milligramsPerLitre: number | undefined;
  readonly wantedMilligramsPerLitre: number;
}

/** A feed at one moment. Counts are since the journal began, unless it says otherwise. */
export interface DriveStatus {
  /** Since this start of the feed, by the monotonic clock. */
  readonly elapsedMicros: Micros;
  readonly meter: EndStatus;
  readonly pump: EndStatus;
  readonly journal: string;
  /** As text: `3:2`. */
  readonly ratio: string;
  readonly contacts: number;
  readonly ignored: number;
  readonly rejected: number;
  readonly earned: number;
  readonly owed: number;
  /** In parts of `remainderOf`. */
  readonly remainder: number;
  readonly remainderOf: number;
  readonly paced: number;
  readonly primed: number;
  readonly shed: { readonly [cause in ShedCause]: number };
  /** Strokes that may or may not have been made: at most one a kill. */
  readonly uncertain: number;
  /** Strokes of either cause in the last minute, and the most that the cap allows in one. */
  readonly strokesPerMinute: number;
  readonly capPerMinute: number;
  readonly held: boolean;
  readonly tripped: boolean;
  readonly priming: boolean;
  readonly inhibits: readonly InhibitCause[];
  readonly alarms: readonly Alarm[];
  readonly troubles: readonly Trouble[];
  readonly dose?: DoseStatus;
}

/** What a person at the feed can ask for. */
export interface DriveControls {
  /** The key of the prime override is down, or is repeating: it stays pressed until shortly after the last call. */
  readonly prime: () => void;
  readonly hold: (on: boolean) => void;
  readonly reset: () => void;
  /** Strokes stop, the journal is closed, the ports are let go. */
  readonly quit: () => void;
}
