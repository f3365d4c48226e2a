/**
 * What is kept of a run to be drawn over time? The shape that the sink fills, the page reads and the figures draw.
 *
 * Harness layer; no imports but types, since it also runs in the page. Times in µs, counts of contacts and strokes.
 */
import type { Columns, Kept } from "./buckets.js";

/** Columns over time. */
export const RUN_COLUMNS = {
  /** Contacts of every fate but rejected. */
  contacts: "sum",
  paced: "sum",
  primed: "sum",
  shed: "sum",
  /** Strokes owed: as low and as high as it went, and what it was left at. */
  owedLeast: "least",
  owedMost: "most",
  owedLast: "last",
  /** Time from one stroke to the next, of either cause, told where the later one is. */
  spacingLeast: "least",
  spacingMost: "most",
  /** Bit sets over {@link STANDING}: what stood at some moment of the bucket, and at its end. */
  stood: "any",
  standing: "last",
} as const satisfies Columns;

/** Columns of the concentration downstream, mg/L. */
export const DOWNSTREAM_COLUMNS = { least: "least", most: "most", last: "last" } as const satisfies Columns;

export type RunSeries = Kept<typeof RUN_COLUMNS>;
export type DownstreamSeries = Kept<typeof DOWNSTREAM_COLUMNS>;

/** What can stand for a while and is drawn as a bar: modes first, then alarms. */
export const STANDING = [
  "prime",
  "hold",
  "inhibit",
  "dark",
  "stuck",
  "silent",
  "too-fast",
  "owed-limit",
  "still-water",
  "shed-in-hold",
  "shed-in-inhibit",
  "tripped",
  "prime-too-long",
  "shed-at-restart",
  "change-refused",
] as const;
export type Standing = (typeof STANDING)[number];

/** How many of {@link STANDING} are modes, which someone set, and not alarms. */
export const MODES = 4;

/** A moment that is kept exactly, whatever merges around it. */
export interface Moment {
  /** A short name, by which it is linked. */
  readonly id: string;
  /** What it is, in a few words. */
  readonly says: string;
  readonly atMicros: number;
  /** Which row of the run it is marked in. */
  readonly row: "contacts" | "strokes" | "owed" | "rate" | "standing" | "downstream";
}
