/**
 * What does any pacing controller owe, whoever built it? The fifteen laws by name, and the form of a verdict.
 *
 * Laws layer; imports pacing's types only: the judge shares no code with the accused.
 */
import type { Micros } from "../pacing/index.js";

/** The laws in plain words, in their order. */
export const LAWS = {
  proportion:
    "The strokes earned are the contacts times the ratio, rounded down, with no drift: the dose error stays below one stroke.",
  balance:
    "Earned strokes are, at every moment, those made, those still owed and those given up and counted.",
  cap: "No two strokes are closer than the least spacing, whatever caused them.",
  causality: "No paced stroke comes before the contact that pays for it.",
  prime:
    "Primed strokes stop on release and at the longest hold, and priming changes neither what is owed nor the remainder.",
  silence: "No stroke is made while held, inhibited or tripped.",
  debt: "What is owed never exceeds its limit.",
  "still-water": "No paced stroke comes later than the grace after the last contact.",
  "wake-ups": "Extra wake-ups change nothing.",
  "time-shift":
    "Moving all inputs in time moves all that comes of them by as much, and changes nothing else.",
  lateness:
    "However late the wake-ups come, strokes keep their spacing and none that was earned is lost in silence.",
  "power-cycle": "Across a power cut no part of a stroke is lost in silence or made twice.",
  bounce: "A closure with any bounce shorter than the qualifying times is one contact.",
  totality: "Any input in any order gives a valid answer.",
  guard: "In every window of time the strokes stay within the guard's budget.",
} as const;

export type LawName = keyof typeof LAWS;
export const LAW_NAMES = Object.keys(LAWS) as LawName[];

/** `cannot tell` is never a pass. */
export type Answer = "holds" | "broken" | "cannot tell";

/** What a judge says of one law. */
export interface Verdict {
  readonly law: LawName;
  /** The law's number, 1 to 15. */
  readonly number: number;
  readonly statement: string;
  readonly answer: Answer;
  /** How far from breaking it came at the worst moment, in `unit`; null where nothing was there to measure. */
  readonly margin: number | null;
  readonly unit: string;
  /** How many moments were looked at. */
  readonly checked: number;
  /** The first moment it broke. */
  readonly brokenAtMicros?: Micros;
  /** What was seen at that moment, or why it cannot be told. */
  readonly evidence?: string;
}

/** Gathers the moments at which one law was looked at. */
export interface Finding {
  /** One moment: was the law kept, and by how much. Evidence is asked for only where it broke. */
  weigh(kept: boolean, margin: number, atMicros: Micros, evidence: () => string): void;
  /** The verdict. `unseen` says why it cannot be told, and counts unless the law is known to be broken. */
  verdict(unseen?: string): Verdict;
}

export function finding(law: LawName, unit: string): Finding {
  let checked = 0;
  let least = Infinity;
  let broken: { readonly brokenAtMicros: Micros; readonly evidence: string } | undefined;

  return {
    weigh(kept, by, atMicros, evidence) {
      checked += 1;
      if (by < least) least = by;
      if (!kept && broken === undefined) broken = { brokenAtMicros: atMicros, evidence: evidence() };
    },
    verdict(unseen) {
      const number = LAW_NAMES.indexOf(law) + 1;
      const margin = Number.isFinite(least) ? least : null;
      const found = { law, number, statement: LAWS[law], margin, unit, checked };
      if (broken !== undefined) return { ...found, answer: "broken", ...broken };
      if (unseen !== undefined) return { ...found, answer: "cannot tell", evidence: unseen };
      return { ...found, answer: "holds" };
    },
  };
}

/** One law, watching a trace go by. Facts are those from before the event. */
export interface Judge<Event, Facts> {
  see(event: Event, facts: Facts): void;
  verdict(facts: Facts): Verdict;
}
