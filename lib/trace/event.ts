/**
 * What is a trace made of? Timed events: what went in and what came out.
 *
 * Trace layer; imports pacing's types. Inputs and effects bear the names that the pacing core gives them. Beside them
 * stand a few events that only a record has: power lost and back, what a device said of its accounts, and a device
 * that failed.
 */
import type { Effect, Input, Micros } from "../pacing/index.js";

/** The controller loses power, or gets it back. `darkKnown` tells whether it can know for how long it was dark. */
export type Power =
  | { readonly kind: "power-off"; readonly atMicros: Micros }
  | { readonly kind: "power-on"; readonly atMicros: Micros; readonly darkKnown: boolean };

/** The accounts of a device at one moment, in strokes; `remainder` in parts of one stroke over the ratio's d. */
export interface Status {
  readonly kind: "status";
  readonly atMicros: Micros;
  readonly earned: number;
  readonly paced: number;
  readonly primed: number;
  readonly owed: number;
  readonly shed: number;
  readonly remainder: number;
}

/** The device failed: it threw, died, or answered nonsense. */
export interface Fault {
  readonly kind: "fault";
  readonly atMicros: Micros;
  readonly message: string;
}

export type StimulusEvent = Input | Power;
export type ResponseEvent = Effect | Status | Fault;
export type TraceEvent = StimulusEvent | ResponseEvent;
export type EventKind = TraceEvent["kind"];

const IS_STIMULUS: { readonly [kind in EventKind]: boolean } = {
  wake: true,
  close: true,
  open: true,
  contact: true,
  "prime-on": true,
  "prime-off": true,
  "hold-on": true,
  "hold-off": true,
  "inhibit-on": true,
  "inhibit-off": true,
  reset: true,
  settings: true,
  "power-off": true,
  "power-on": true,
  counted: false,
  ignored: false,
  rejected: false,
  paced: false,
  primed: false,
  shed: false,
  refused: false,
  "alarm-on": false,
  "alarm-off": false,
  status: false,
  fault: false,
};

/** Every kind of event. */
export const EVENT_KINDS = Object.keys(IS_STIMULUS) as EventKind[];

/** True for what goes into a device, false for what comes out of it. */
export function isStimulus(event: TraceEvent): event is StimulusEvent {
  return IS_STIMULUS[event.kind];
}

/** The same of a kind alone. */
export function isStimulusKind(kind: EventKind): kind is StimulusEvent["kind"] {
  return IS_STIMULUS[kind];
}

export function isEventKind(name: string): name is EventKind {
  return Object.prototype.hasOwnProperty.call(IS_STIMULUS, name);
}
