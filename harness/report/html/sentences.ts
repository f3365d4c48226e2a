/**
 * What is the answer, in plain words? The verdict first, then what it means for the water. Harness layer.
 */
import { SHED_CAUSES } from "../../../lib/pacing/index.js";
import type { RunReport } from "../report.js";
import type { Tally } from "../tally.js";
import type { JudgedLaw } from "./input.js";
import { tickLabel } from "./time-axis.js";
import { many, SHED_WORDS, whole } from "../words.js";

export type Outcome = "holds" | "broken" | "cannot tell";

/** Signs that stand beside the words; never instead of them. */
export const SIGNS: { readonly [outcome in Outcome]: string } = {
  holds: "✓",
  broken: "✕",
  "cannot tell": "?",
};

const NUMBERS = [
  "No",
  "One",
  "Two",
  "Three",
  "Four",
  "Five",
  "Six",
  "Seven",
  "Eight",
  "Nine",
  "Ten",
  "Eleven",
  "Twelve",
];
const MORE = ["Thirteen", "Fourteen", "Fifteen"];

function inWords(count: number): string {
  return [...NUMBERS, ...MORE][count] ?? String(count);
}

/** All that the headline looks at. */
export interface Judgement {
  readonly laws: readonly Pick<JudgedLaw, "law" | "answer">[];
  /** What the device itself failed at. */
  readonly faults: readonly string[];
}

export function judgementOf({ verdicts, tally }: Pick<RunReport, "verdicts" | "tally">): Judgement {
  return { laws: verdicts, faults: tally.faults };
}

export function outcomeOf({ laws, faults }: Judgement): Outcome {
  if (laws.some(({ answer }) => answer === "broken")) return "broken";
  const open = faults.length > 0 || laws.some(({ answer }) => answer === "cannot tell");
  return open || laws.every(({ answer }) => answer !== "holds") ? "cannot tell" : "holds";
}

/** The one line on top. */
export function headlineOf({ laws, faults }: Judgement): string {
  const of = (wanted: JudgedLaw["answer"]): Judgement["laws"] =>
    laws.filter(({ answer }) => answer === wanted);
  const [broken, open, unseen, held] = [of("broken"), of("cannot tell"), of("not seen"), of("holds")];
  if (broken.length > 0) {
    const what = broken.length === 1 ? "law was broken" : "laws were broken";
    return `${inWords(broken.length)} ${what}: ${namesOf(broken)}`;
  }
  if (faults.length > 0) return "The device failed, so the laws cannot be told";
  if (open.length > 0) {
    return `No law was broken, but ${inWords(open.length).toLowerCase()} cannot be told: ${namesOf(open)}`;
  }
  if (held.length === 0) return "No law was seen to hold";
  if (unseen.length > 0) {
    const what = held.length === 1 ? "law held" : "laws held";
    return `${inWords(held.length)} ${what}; not seen: ${namesOf(unseen)}`;
  }
  return `All ${inWords(laws.length).toLowerCase()} laws held`;
}

function namesOf(laws: Judgement["laws"]): string {
  return laws.map(({ law }) => law).join(", ");
}

/** One sentence under the headline; `weighty` where someone must act on it, or water went short. */
export interface Sentence {
  readonly says: string;
  readonly weighty: boolean;
}

/** What follows the headline: evidence, then what was fed and what was not. */
export function sentencesOf({ verdicts, tally }: RunReport): Sentence[] {
  return [...evidenceOf({ laws: verdicts, faults: tally.faults }), ...feedSentences(tally)];
}

/** Why a law is broken or cannot be told, and what the device failed at. */
export function evidenceOf({
  laws,
  faults,
}: {
  readonly laws: readonly JudgedLaw[];
  readonly faults: readonly string[];
}): Sentence[] {
  const told = laws.flatMap(({ law, number, answer, evidence, brokenAtMicros, stimulus }): Sentence[] => {
    if (answer !== "broken" && answer !== "cannot tell") return [];
    const where = stimulus === undefined ? "" : ` in ${stimulus}`;
    return [
      answer === "broken"
        ? {
            says: `Law ${number}, ${law}, broke${where} at ${tickLabel(brokenAtMicros ?? 0, 1_000)}: ${evidence ?? "no evidence"}.`,
            weighty: true,
          }
        : {
            says: `Law ${number}, ${law}, cannot be told: ${evidence ?? "it was not seen"}.`,
            weighty: false,
          },
    ];
  });
  return [...told, ...faults.map((fault) => ({ says: `The device failed: ${fault}.`, weighty: true }))];
}

function feedSentences(tally: Tally): Sentence[] {
  const { contacts, earned, paced, primed, owed, ignored } = tally;
  const plain = (says: string): Sentence => ({ says, weighty: false });
  if (contacts + ignored + primed === 0) return [plain("No contact came, so nothing was fed.")];
  const shed = SHED_CAUSES.filter((cause) => tally.shed[cause] > 0).map((cause) => ({
    says: `${many(tally.shed[cause], "stroke")} (${share(tally.shed[cause], earned)}) given up: ${SHED_WORDS[cause]}.`,
    weighty: true,
  }));
  const sentences = [
    plain(`${many(contacts, "contact")} earned ${many(earned, "stroke")}; ${whole(paced)} were made.`),
    ...shed,
  ];
  if (owed > 0) sentences.push(plain(`${many(owed, "stroke")} still owed at the end.`));
  if (shed.length === 0 && owed === 0 && earned > 0) {
    sentences.push(plain("No stroke that was earned was given up."));
  }
  if (ignored > 0) {
    sentences.push({
      says: `${many(ignored, "contact")} passed while held or priming and earned nothing.`,
      weighty: true,
    });
  }
  return sentences;
}

function share(part: number, all: number): string {
  return all === 0 ? "none was earned" : `${((100 * part) / all).toFixed(2)} % of the earned`;
}
