/**
 * How is a student asked, and shown the working? One fold for each question; a guess first. Harness layer, page.
 */
import { showNumber } from "../../../lib/dosing/index.js";
import type { Answer, Show } from "../answer.js";
import { action, byId, make } from "./dom.js";

/** Off by no more than this part counts as right. */
const RIGHT_WITHIN = 0.05;

/** Shows all questions; what is open, and what was guessed, stays. */
export function newQuestions(doShow: (show: Show) => void): (answers: readonly Answer[]) => void {
  const folds = new Map<string, Fold>();
  let last: readonly Answer[] | undefined;
  return (answers) => {
    if (answers === last) return;
    last = answers;
    for (const answer of answers) {
      let fold = folds.get(answer.id);
      if (fold === undefined) {
        fold = newFold(answer.id, doShow);
        folds.set(answer.id, fold);
        byId("questions").append(fold.element);
      }
      fold.show(answer);
    }
  };
}

interface Fold {
  readonly element: HTMLElement;
  readonly show: (answer: Answer) => void;
}

function newFold(id: string, doShow: (show: Show) => void): Fold {
  const question = make("summary", {});
  const ask = make("label", { for: `guess-${id}` });
  const guess = make("input", {
    id: `guess-${id}`,
    type: "text",
    inputmode: "decimal",
    maxlength: "12",
    autocomplete: "off",
  });
  const unit = make("span", { class: "unit" });
  const verdict = make("output", { for: `guess-${id}` });
  const lines = make("ol", {});
  const shows = make("p", { class: "shows" });
  const working = make(
    "details",
    { class: "working" },
    make("summary", {}, "Show the working"),
    lines,
    shows,
  );
  const element = make(
    "details",
    { class: "question", id: `question-${id}` },
    question,
    make("p", { class: "guess" }, ask, " ", guess, " ", unit, " ", verdict),
    working,
  );
  let wanted: Answer["guess"] | undefined;
  const judge = (): void => {
    verdict.textContent = wanted === undefined ? "" : verdictOf(guess.value, wanted);
  };
  guess.addEventListener("input", judge);
  return {
    element,
    show(answer) {
      question.textContent = answer.question;
      ask.textContent = `Your guess: ${answer.guess.ask}`;
      unit.textContent = answer.guess.unit;
      wanted = answer.guess;
      judge();
      lines.replaceChildren(
        ...answer.lines.map(({ says, working: sum }) =>
          make("li", {}, says, ...(sum === undefined ? [] : [make("span", { class: "sum" }, sum)])),
        ),
      );
      shows.replaceChildren(
        ...answer.shows.map((show) =>
          action(show.label, () => {
            doShow(show);
          }),
        ),
      );
    },
  };
}

function verdictOf(text: string, { value, unit }: Answer["guess"]): string {
  if (text.trim() === "") return "";
  const guessed = Number(text.trim());
  if (!Number.isFinite(guessed)) return "Write a plain number, such as 12.5.";
  const right = showNumber(value, 3);
  if (Math.abs(guessed - value) <= Math.abs(value) * RIGHT_WITHIN) return `Yes: ${right} ${unit}.`;
  return `Not quite, it is ${guessed > value ? "less" : "more"} than that.`;
}
