/**
 * What is the answer, in plain words? The verdict first, then what it means for the water. Harness layer.
 */
import type { Verdict } from "../../../lib/laws/index.js";
import { SHED_CAUSES } from "../../../lib/pacing/index.js";
import type { RunReport } from "../report.js";
import type { Tally } from "../tally.js";
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

export function outcomeOf({ verdicts, tally }: Pick<RunReport, "verdicts" | "tally">): Outcome {
  if (verdicts.some(({ answer }) => answer === "broken")) return "broken";
  const open = tally.faults.length > 0 || verdicts.some(({ answer }) => answer === "cannot tell");
  return open || verdicts.length === 0 ? "cannot tell" : "holds";
}

/** The one line on top. */
export function headlineOf({ verdicts, tally }: Pick<RunReport, "verdicts" | "tally">): string {
  const broken = verdicts.filter(({ answer }) => answer === "broken");
  const open = verdicts.filter(({ answer }) => answer === "cannot tell");
  if (broken.length > 0) {
    const laws = broken.length === 1 ? "law was broken" : "laws were broken";
    return `${inWords(broken.length)} ${laws}: ${namesOf(broken)}`;
  }
  if (tally.faults.length > 0) return "The device failed, so the laws cannot be told";
  if (open.length > 0) {
    return `No law was broken, but ${inWords(open.length).toLowerCase()} cannot be told: ${namesOf(open)}`;
  }
  return verdicts.length === 0
    ? "No law was judged"
    : `All ${inWords(verdicts.length).toLowerCase()} laws held`;
}

function namesOf(verdicts: readonly Verdict[]): string {
  return verdicts.map(({ law }) => law).join(", ");
}

/** One sentence under the headline; `weighty` where someone must act on it, or water went short. */
export interface Sentence {
  readonly says: string;
  readonly weighty: boolean;
}

/** What follows the headline: evidence, then what was fed and what was not. */
export function sentencesOf({ verdicts, tally }: RunReport): Sentence[] {
  const evidence = verdicts
    .filter(({ answer }) => answer !== "holds")
    .map(({ law, number, answer, evidence: seen, brokenAtMicros }) =>
      answer === "broken"
        ? {
            says: `Law ${number}, ${law}, broke at ${tickLabel(brokenAtMicros ?? 0, 1_000)}: ${seen ?? "no evidence"}.`,
            weighty: true,
          }
        : { says: `Law ${number}, ${law}, cannot be told: ${seen ?? "it was not seen"}.`, weighty: false },
    );
  const faults = tally.faults.map((fault) => `The device failed: ${fault}.`);
  return [...evidence, ...faults.map((says) => ({ says, weighty: true })), ...feedSentences(tally)];
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
