/**
 * What goes into a reactive pacer? The meter, and the streams of those who operate it. Reactive layer.
 */
import { endWith, map, merge, NEVER, type Observable } from "rxjs";
import type { InhibitCause, Input, Micros, Settings } from "../pacing/index.js";

/** The meter's contact closes or opens, bounce and all. */
export type MeterEdge = "close" | "open";

/** What a meter says: raw edges, or contacts that were qualified elsewhere. */
export type MeterInput = MeterEdge | "contact";

/** An interlock begins, or ends, to forbid strokes. */
export interface InhibitChange {
  readonly cause: InhibitCause;
  readonly on: boolean;
}

/** New settings; `confirmed` where a person has confirmed an increase of the feed beyond `largestIncrease`. */
export interface SettingsChange {
  readonly settings: Settings;
  readonly confirmed: boolean;
}

/**
 * The streams that operate a pacer; each may be left out. An error of any stops the strokes, as an error of the
 * meter does.
 */
export interface Controls {
  /** The prime override: true while it is held. Completing releases it. */
  readonly prime$?: Observable<boolean>;
  /** True pauses pacing. Completing leaves it as it was last said. */
  readonly hold$?: Observable<boolean>;
  /** Completing leaves every cause as it was last said. */
  readonly inhibit$?: Observable<InhibitChange>;
  /** Any value acknowledges a trip. */
  readonly reset$?: Observable<unknown>;
  readonly settings$?: Observable<SettingsChange>;
}

/** An input that waits for its time. */
export type Untimed = (atMicros: Micros) => Input;

/** Throws a TypeError for what no meter says: a value that is passed over in silence is water that goes undosed. */
export function meterInput(kind: MeterInput): Untimed {
  if (!METER_INPUTS.includes(kind)) throw strangeInput(kind);
  return (atMicros) => ({ kind, atMicros });
}

const METER_INPUTS: readonly MeterInput[] = ["close", "open", "contact"];

function strangeInput(value: unknown): TypeError {
  return new TypeError(
    `The meter said ${inWords(value)}, which is neither "close", "open" nor "contact". ` +
      "Map what your meter emits to one of these words before pace() or qualifyEdges().",
  );
}

function inWords(value: unknown): string {
  if (typeof value === "string") return `"${value}"`;
  if (typeof value === "number" || typeof value === "boolean") return String(value);
  return value === null || value === undefined ? String(value) : `a value of type ${typeof value}`;
}

export function controlInputs(controls: Controls): Observable<Untimed> {
  const { prime$ = NEVER, hold$ = NEVER, inhibit$ = NEVER, reset$ = NEVER, settings$ = NEVER } = controls;
  return merge(
    prime$.pipe(
      endWith(false),
      map((on): Untimed => (atMicros) => ({ kind: on ? "prime-on" : "prime-off", atMicros })),
    ),
    hold$.pipe(map((on): Untimed => (atMicros) => ({ kind: on ? "hold-on" : "hold-off", atMicros }))),
    inhibit$.pipe(
      map(({ cause, on }): Untimed => (atMicros) => ({
        kind: on ? "inhibit-on" : "inhibit-off",
        atMicros,
        cause,
      })),
    ),
    reset$.pipe(map((): Untimed => (atMicros) => ({ kind: "reset", atMicros }))),
    settings$.pipe(
      map(({ settings, confirmed }): Untimed => (atMicros) => ({
        kind: "settings",
        atMicros,
        settings,
        confirmed,
      })),
    ),
  );
}
