/**
 * What is an answer? Lines with their working, and what to do to see it. Harness layer; types alone.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { FieldName } from "./fields.js";

/** One thing to do to see it: other texts, another moment. */
export interface Show {
  readonly label: string;
  readonly texts?: { readonly [name in FieldName]?: string };
  readonly atMicros?: Micros;
  readonly windowMicros?: Micros;
}

export interface Line {
  readonly says: string;
  /** The arithmetic behind it. */
  readonly working?: string;
}

export interface Answer {
  readonly id: string;
  readonly question: string;
  /** What the student may guess first: a number. */
  readonly guess: { readonly ask: string; readonly unit: string; readonly value: number };
  readonly lines: readonly Line[];
  readonly shows: readonly Show[];
}
