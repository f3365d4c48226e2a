/**
 * What do several runs say together? Harness layer. Broken if one broke; holds only if some run had it to look at.
 */
import { LAW_NAMES, LAWS, type LawName, type Verdict } from "../../lib/laws/index.js";
import type { Shown } from "./report.js";

/** What there was in a run to be looked at. */
export interface Had {
  readonly strokes: number;
  /** A hold, an inhibit or a trip. */
  readonly isStopped: boolean;
}

/** Gathers the verdicts of many runs, law by law. */
export interface Gathered {
  add(verdicts: readonly Verdict[], had: Had, from: string): void;
  of(law: LawName): Merged;
}

export interface Merged extends Shown {
  /** Where it broke first, or came nearest to it. */
  readonly stimulus?: string;
}

export function gather(): Gathered {
  const found = new Map<LawName, Merged>();
  const of = (law: LawName): Merged =>
    found.get(law) ?? {
      law,
      answer: "cannot tell",
      margin: null,
      unit: "",
      checked: 0,
      evidence: "nothing was there to be looked at",
    };
  return {
    of,
    add(verdicts, had, from) {
      for (const verdict of verdicts)
        found.set(verdict.law, together(of(verdict.law), shownBy(verdict, had), from));
    },
  };
}

/** Numbers and words of a law. */
export function lawText(law: LawName): { readonly number: number; readonly statement: string } {
  return { number: LAW_NAMES.indexOf(law) + 1, statement: LAWS[law] };
}

/** A verdict that looked at nothing, or at a dose that no stroke delivered, shows nothing. */
function shownBy(
  { law, answer, margin, unit, checked, brokenAtMicros, evidence }: Verdict,
  { strokes, isStopped }: Had,
): Shown {
  const shown = {
    law,
    margin,
    unit,
    checked,
    ...(brokenAtMicros === undefined ? {} : { brokenAtMicros }),
    ...(evidence === undefined ? {} : { evidence }),
  };
  if (answer === "holds" && checked === 0) {
    return { ...shown, answer: "cannot tell", evidence: "nothing was there to be looked at" };
  }
  if (answer === "holds" && law === "proportion" && strokes === 0) {
    return { ...shown, answer: "cannot tell", evidence: "contacts were counted, but no stroke was made" };
  }
  // Strokes that come while nothing forbids them say nothing of silence.
  if (answer === "holds" && law === "silence" && !isStopped) {
    return { ...shown, answer: "cannot tell", evidence: "no hold, no inhibit and no trip came" };
  }
  return { ...shown, answer };
}

const WEIGHT = { broken: 3, holds: 2, "cannot tell": 1, "not seen": 0 } as const;

function together(before: Merged, shown: Shown, from: string): Merged {
  const after: Merged = { ...shown, stimulus: from };
  const checked = before.checked + shown.checked;
  if (WEIGHT[shown.answer] > WEIGHT[before.answer]) return { ...after, checked };
  const isNearer =
    shown.answer === before.answer &&
    shown.answer === "holds" &&
    (shown.margin ?? Infinity) < (before.margin ?? Infinity);
  const isFirst = before.answer === "cannot tell" && before.unit === "";
  return isNearer || isFirst ? { ...after, checked } : { ...before, checked };
}
