/**
 * What is written into a journal, and what does a restart find in it? As values. Harness layer.
 */
import { type Micros, type ShedCause, type Settings, type State } from "../../lib/pacing/index.js";
import { detailOf, readHeader, TRACE_HEADER, type TraceEvent } from "../../lib/trace/index.js";
import type { Head } from "./head.js";
import type { Tallies } from "./tallies.js";

/** The moment of a step beside the journal's own time. */
export interface Stamp {
  /** Only a label, in ms since 1970. */
  readonly wallMs: number;
  /** Which start of the machine, and how long ago it was, sleep included; undefined where it cannot be known. */
  readonly boot: { readonly id: string; readonly micros: Micros } | undefined;
}

/** One committed step. */
export interface StepRecord {
  /** What went in and came out, in order. */
  readonly events: readonly TraceEvent[];
  readonly state: Readonly<State>;
  /** The meter's, as far as its contacts are in this step or before it; undefined where it keeps none. */
  readonly register: number | undefined;
  /** Of the last stroke that was asked for, this one included. */
  readonly number: number;
  /** A stroke that will be asked of the pump once this is kept. */
  readonly stroke?: { readonly number: number; readonly cause: "paced" | "primed" };
  /** The state for the case that the stroke under way was not made; undefined while none is. */
  readonly unmade: Readonly<State> | undefined;
  /** Why, in that case, the stroke was shed in this step; undefined where it was not, or before. */
  readonly unmadeShed?: ShedCause | undefined;
  /** Strokes so far of which nobody can tell. */
  readonly uncertain: number;
}

/** A start of the feed. */
export interface RunRecord {
  readonly meter: string;
  readonly pump: string;
  readonly settings: { readonly [name: string]: string | number };
  readonly plan: string | undefined;
  readonly zone: string;
  readonly version: string;
  /** How long it was dark before. */
  readonly darkMicros: Micros | undefined;
  /** What became of the stroke that was under way. */
  readonly resolved: "made" | "unmade" | "uncertain" | undefined;
}

/** What a restart goes on from. */
export interface Kept {
  readonly step: number;
  readonly atMicros: Micros;
  readonly boot: Stamp["boot"];
  /** When the feed was last known to be alive, by the same clock: at the step, or later. */
  readonly aliveBoot: Stamp["boot"];
  readonly register: number | undefined;
  /** The specification of the meter of the last run. */
  readonly meter: string;
  /** Of the last stroke that was asked for; 0 for none. */
  readonly number: number;
  readonly snapshot: Uint8Array;
  /** There while a stroke is under way. */
  readonly unmade: Uint8Array | undefined;
  readonly settings: Settings;
  readonly tallies: Tallies;
}

export function headOf(
  step: number,
  { counted, ignored, paced, primed }: Pick<Tallies, "counted" | "ignored" | "paced" | "primed">,
  boot: Stamp["boot"],
): Head {
  return { step, contacts: counted + ignored, strokes: paced + primed, bootMicros: boot?.micros ?? 0 };
}

/** Settings exactly as the core has them, as the trace format writes them. */
export function settingsText(settings: Settings): string {
  return detailOf({ kind: "settings", atMicros: 0, settings, confirmed: true });
}

/** Undefined where the text is none of {@link settingsText}. */
export function settingsIn(text: string): Settings | undefined {
  const header = readHeader(TRACE_HEADER.split(","), 1, "settings");
  const read = header.ok ? header.rows.read(["0", "settings", text], 1) : header;
  return read.ok && "event" in read && read.event.kind === "settings" ? read.event.settings : undefined;
}
