/**
 * How does a drawdown go, trial by trial, with a person at the cylinder? Harness layer.
 *
 * A wrong answer is told and asked again. Whatever ends the test, what was typed is not lost: whole trials are kept and
 * a half one is said.
 */
import {
  type DrawdownTrial,
  drawdownStrokeVolume,
  numberIn,
  showNumber,
  type Volume,
} from "../../lib/dosing/index.js";
import { many, wrapped } from "../report/words.js";
import { isRefused, type Refused } from "../plan/terms.js";
import type { Asker } from "./asker.js";
import { readDrawn, readStrokes, readTrialRate, trialFault } from "./trial.js";

/** What is told before the first trial. */
export const GUIDED_CAUTIONS: readonly string[] = [
  "Water will do for a drawdown: the pump must work against the back pressure that it works against in use, and that " +
    "decides its stroke, not the chlorine. With hypochlorite wear eye protection and gloves, air the room, and never let " +
    "it meet acid, ammonia or any other chemical.",
  "Let the pressure off the discharge line before you open anything. Keep the suction line in the cylinder and free of air.",
  "Set stroke length and rate as they are used. Fill, let a few strokes pass, read; count strokes; read again at eye level.",
];

export type GuidedEnd = "done" | "input ended" | "cancelled";

export interface GuidedTest {
  readonly trials: readonly DrawdownTrial[];
  readonly graduation: Volume | undefined;
  readonly end: GuidedEnd;
  /** What was said of a trial that did not come to its end. */
  readonly half: string | undefined;
}

export interface Guide {
  readonly asker: Asker;
  readonly talk: (text: string) => void;
  /** Given beforehand, so that it is not asked. */
  readonly graduation: Volume | undefined;
  /** Called with all trials whenever there is another, or one less. */
  readonly onTrials: (trials: readonly DrawdownTrial[]) => void;
}

const UNDO = "undo";
/** Said by a reader of "nothing", which ends the asking without a value. */
const NOTHING = Symbol("nothing");

/** Asks until the person is done. Undo begins the trial anew, and at its begin takes back the one before. */
export async function guidedTest({ asker, talk, graduation: given, onTrials }: Guide): Promise<GuidedTest> {
  for (const caution of GUIDED_CAUTIONS) talk(`${wrapped(caution, "  - ", "    ")}\n`);
  const ask = askUntilSound(asker, talk);
  const trials: DrawdownTrial[] = [];
  const ended = (half?: string): GuidedTest => ({
    trials,
    graduation,
    end: asker.isCancelled ? "cancelled" : "input ended",
    half,
  });

  let graduation = given;
  if (graduation === undefined) {
    const answer = await ask(
      "Volume between two marks of the cylinder, e.g. 1 mL (Enter: not known): ",
      (text) => (text === "" ? NOTHING : readDrawn(text, "mL")),
    );
    if (answer === undefined) return ended();
    if (answer !== NOTHING) graduation = answer;
  }
  for (;;) {
    const last = trials.at(-1);
    const back = last === undefined ? "" : `, or takes back trial ${trials.length}`;
    talk(`Trial ${trials.length + 1} (${UNDO} begins it anew${back})\n`);
    const done = last === undefined ? "" : " (Enter: no more trials)";
    const strokes = await ask(`  Strokes counted${done}: `, (text) => {
      if (text === "" && last !== undefined) return NOTHING;
      return text === UNDO && last !== undefined ? UNDO : readStrokes(text);
    });
    if (strokes === undefined) return ended();
    if (strokes === NOTHING) return { trials, graduation, end: "done", half: undefined };
    if (strokes === UNDO) {
      trials.pop();
      onTrials(trials);
      continue;
    }
    const drawn = await ask("  Volume drawn (mL, or write the unit): ", (text) => {
      if (text === UNDO) return UNDO;
      const volume = readDrawn(text, "mL");
      return isRefused(volume) ? volume : (trialFault({ strokes, drawn: volume }) ?? volume);
    });
    if (drawn === undefined) return ended(many(strokes, "stroke"));
    if (drawn === UNDO) continue;
    // Rates are known of all trials or of none, as in a file.
    const isUnknown = last !== undefined && last.ratePerMinute === undefined;
    const rate = isUnknown
      ? NOTHING
      : await ask(`  Strokes per minute (Enter: ${rateWords(last)}): `, (text) => {
          if (text === UNDO) return UNDO;
          if (text !== "") return readTrialRate(text);
          return last?.ratePerMinute ?? NOTHING;
        });
    if (rate === undefined) return ended(`${many(strokes, "stroke")}, ${numberIn(drawn, "mL")} mL`);
    if (rate === UNDO) continue;
    trials.push({ strokes, drawn, ...(rate === NOTHING ? {} : { ratePerMinute: rate }) });
    onTrials(trials);
    talk(`  ${showNumber(numberIn(drawdownStrokeVolume(drawn, strokes), "mL"))} mL per stroke\n`);
  }
}

function rateWords(last: DrawdownTrial | undefined): string {
  return last?.ratePerMinute === undefined ? "not known" : String(last.ratePerMinute.valueOf());
}

type Ask = <T>(question: string, read: (text: string) => T | Refused) => Promise<T | undefined>;

function askUntilSound(asker: Asker, talk: (text: string) => void): Ask {
  return async (question, read) => {
    for (;;) {
      const text = await asker.ask(question);
      if (text === undefined) return undefined;
      const value = read(text);
      if (typeof value !== "object" || value === null || !isRefused(value)) return value;
      talk(`${wrapped(`${value.fault}. Mend: ${value.mend}.`, "    ")}\n`);
    }
  };
}
