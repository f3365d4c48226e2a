/**
 * What is a student asked, and how is each answer worked out from what is set? Harness layer.
 *
 * No number here is written down: each comes from the plan, the pacer or the pipe for the state at hand. The questions
 * themselves are in the files named after them.
 */
import type { Plan } from "../../lib/dosing/index.js";
import { cadenceAnswer } from "./questions/cadence.js";
import { capAnswer } from "./questions/cap.js";
import { divideAnswer } from "./questions/divide.js";
import { ratioAnswer } from "./questions/ratio.js";
import { stillAnswer } from "./questions/still.js";
import type { Answer, Show } from "./answer.js";
import { runDay } from "./day.js";
import type { Texts } from "./fields.js";
import { atWork, type Work } from "./questions/work.js";
import { readTexts, type Values } from "./read.js";

/** All questions, in the order in which they build on each other. */
export function answersOf(texts: Texts, values: Values, plan: Plan): Answer[] {
  const work: Work = atWork(values, plan, runDay(values.settings, values.contacts));
  const answers = [ratioAnswer, capAnswer, divideAnswer, stillAnswer, cadenceAnswer].map((of) => of(work));
  // A student is not sent to what would be refused.
  const isSound = (show: Show): boolean =>
    show.texts === undefined || readTexts({ ...texts, ...show.texts }).ok;
  return answers.map((answer) => ({ ...answer, shows: answer.shows.filter(isSound) }));
}
