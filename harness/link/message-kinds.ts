/**
 * What do the two ends of the link say to each other? Requests, answers and reports as data. Harness layer.
 *
 * The meaning of each stands in LINK.md.
 */
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";

/** A counter reading of the device, modulo 2^width. */
export type Ticks = number;
/** Number of a request, 1 to 65,535, 0 for `hello`; undefined for a typed line (`-` in an answer). */
export type RequestNumber = number | undefined;

/** An input on the wire: an event of the stimulus without its time; new settings are those that were staged. */
export type LinkInput =
  | Untimed<Exclude<StimulusEvent, { readonly kind: "settings" }>>
  | { readonly kind: "settings"; readonly confirmed: boolean };
type Untimed<Event> = Event extends unknown ? Omit<Event, "atMicros"> : never;

export type Request =
  | { readonly verb: "hello"; readonly nonce: number }
  | { readonly verb: "set"; readonly name: string; readonly value: string }
  | { readonly verb: "clock" | "go"; readonly ticks: Ticks }
  | { readonly verb: "lag"; readonly ticks: number }
  | { readonly verb: "begin"; readonly clock: "stepped" | "free" }
  | { readonly verb: "at"; readonly ticks: Ticks; readonly input: LinkInput }
  | { readonly verb: "do"; readonly input: LinkInput }
  | { readonly verb: "again"; readonly report: number }
  | { readonly verb: "time" | "tell" | "end" | "bye" };

/** What only a device in the plant is asked. */
export type PlantRequest =
  { readonly verb: "register" | "last" } | { readonly verb: "stroke"; readonly stroke: number };

export type AnyRequest = Request | PlantRequest;

export interface NumberedRequest<Kind extends AnyRequest = Request> {
  readonly number: RequestNumber;
  readonly request: Kind;
}

export const REASONS = [
  "check",
  "long",
  "byte",
  "order",
  "word",
  "value",
  "settings",
  "state",
  "full",
  "late",
  "far",
  "stroke",
] as const;
export type Reason = (typeof REASONS)[number];

/** What the device sends. */
export type DeviceLine =
  | {
      readonly kind: "ok";
      readonly number: RequestNumber;
      readonly lastReport: number;
      readonly value?: number;
    }
  | { readonly kind: "no"; readonly number: RequestNumber; readonly reason: Reason; readonly words: string }
  | { readonly kind: "boot"; readonly name: string }
  /** A line of the greeting. */
  | { readonly kind: "is"; readonly report: number; readonly what: string; readonly words: string }
  | { readonly kind: "report"; readonly report: number; readonly ticks: Ticks; readonly event: Reported }
  /** A reading of the register of a meter in the plant. */
  | { readonly kind: "register"; readonly report: number; readonly ticks: Ticks; readonly contacts: number };

/** What a report tells, without its time: an effect, the accounts, a failure, a stroke of unknown cause, an input done. */
export type Reported =
  | Untimed<Exclude<TraceEvent, StimulusEvent>>
  | { readonly kind: "stroke" }
  | { readonly kind: "did"; readonly number: RequestNumber };

/** A request that cannot be taken, and its number as far as that is known: 0 stands for no number at all. */
export interface RequestFault {
  readonly fault: "word" | "value" | "order";
  readonly number: RequestNumber;
}

/** A line of the device that means nothing: why, in words. */
export interface DeviceLineFault {
  readonly fault: string;
}

/** Requests and reports are numbered 1 to this, then 1 again. */
export const NUMBER_MOST = 65_535;
/** Largest number of any kind on a line. */
export const VALUE_MOST = 4_294_967_295;
/** Largest number of owed strokes that a status can tell; with it a status just fits its line. */
export const OWED_MOST = 16_777_215;
