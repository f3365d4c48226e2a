/**
 * What does a drawdown test tell a person? Plain words, 80 columns. Harness layer.
 */
import {
  type FigureName,
  FIGURE_LIMITS,
  FIGURES,
  type Finding,
  type MeanInterval,
  numberIn,
  PERFORMANCE_SOURCE,
  quantity,
  showNumber,
  shown,
  spreadPercent,
} from "../../lib/dosing/index.js";
import { line, many, section, whole, wrapped } from "../report/words.js";
import { CAUTIONS, type CalibrateReport } from "./report.js";

const TRIALS_SHOWN = 40;

/** The whole text, without a last line end. */
export function calibrateText(report: CalibrateReport): string {
  const parts = [
    heading(report),
    section("Mind before use", report.findings.map(findingLine)),
    section("Trials", trialLines(report)),
    section("By stroke rate", settingLines(report)),
    section(performanceTitle(report), [...FIGURES.map((name) => figureLine(report, name)), ...sourceLine()]),
    section(
      "Cautions",
      CAUTIONS.map((text) => wrapped(text, "  - ", "    ")),
    ),
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

function heading({ planned, terms, result }: CalibrateReport): string {
  const volume = quantity("volume", planned.mean.toPrecision(6), "mL");
  const which =
    terms.at === undefined
      ? many(planned.n, "trial")
      : `${many(planned.n, "trial")} at ${showNumber(terms.at.valueOf())} strokes a minute`;
  const lines = [`Stroke volume ${shown(volume)}, from ${which}`];
  if (planned.halfWidth !== undefined) {
    lines.push(line("sure to", `${interval(planned)}, 95 % confidence (Student t)`));
  }
  if (planned.sd !== undefined) {
    lines.push(line("spread", `standard deviation ${showNumber(planned.sd)} mL between trials`));
  }
  const { strokesEnough, test } = result;
  if (strokesEnough !== undefined && test.graduation !== undefined) {
    const share = showNumber(test.readingShare.valueOf() * 100);
    lines.push(
      line(
        "long enough",
        `${many(strokesEnough, "stroke")} a trial keep the reading of a cylinder with a mark every ` +
          `${shown(test.graduation)} within ${share} %`,
      ),
    );
  }
  return lines.join("\n");
}

/** "0.3360 to 0.3440 mL, ± 1.2 %" */
function interval({ mean, halfWidth = 0 }: MeanInterval): string {
  const percent = showNumber((halfWidth / mean) * 100, 2);
  return `${showNumber(mean - halfWidth, 5)} to ${showNumber(mean + halfWidth, 5)} mL (± ${percent} %)`;
}

function findingLine({ says, source }: Finding): string {
  return wrapped(`${says}. Source: ${source}.`, "  warning ", "          ");
}

function trialLines({ result }: CalibrateReport): string[] {
  const isJudged = result.test.graduation !== undefined;
  const rows = result.trials.slice(0, TRIALS_SHOWN).map((trial, at) => {
    const { reading, ratePerMinute } = trial;
    const marks = [
      reading?.isLongEnough === false ? ["TOO SHORT"] : [],
      trial.isOutlier ? ["STANDS APART"] : [],
    ].flat();
    return row([
      String(at + 1),
      ratePerMinute === undefined ? "-" : showNumber(ratePerMinute.valueOf(), 6),
      whole(trial.strokes),
      showNumber(numberIn(trial.drawn, "mL"), 6),
      showNumber(numberIn(trial.strokeVolume, "mL"), 5),
      ...(reading === undefined ? [] : [`± ${showNumber(reading.share.valueOf() * 100, 2)} %`]),
      marks.join(", "),
    ]);
  });
  const titles = ["trial", "per min", "strokes", "mL", "mL/stroke", ...(isJudged ? ["reading"] : []), ""];
  const rest = result.trials.length - rows.length;
  return [row(titles), ...rows, ...(rest > 0 ? [`  and ${rest} more, in --json`] : [])];
}

/** Cells to the right, the last one to the left. */
function row(cells: readonly string[]): string {
  const widths = [5, 8, 9, 10, 11, 10];
  const last = cells.at(-1) ?? "";
  const aligned = cells.slice(0, -1).map((cell, at) => cell.padStart(widths[at] ?? 0));
  return `  ${aligned.join(" ")}  ${last}`.trimEnd();
}

function settingLines({ result }: CalibrateReport): string[] {
  if (result.settings.length < 2) return [];
  return result.settings.map(({ ratePerMinute, stroke, trials }) => {
    const sure = stroke.halfWidth === undefined ? "" : `, ${interval(stroke)}`;
    const capacity = quantity("flow", stroke.mean * (ratePerMinute?.valueOf() ?? 0), "mL/min");
    return line(
      `${showNumber(ratePerMinute?.valueOf() ?? 0)} a minute`,
      `${many(trials.length, "trial")}: mean ${showNumber(stroke.mean, 5)} mL${sure}; ${shown(capacity)}`,
    );
  });
}

function performanceTitle({ terms, performance }: CalibrateReport): string {
  const rated =
    performance.rated === undefined
      ? ""
      : `; rated capacity ${shown(performance.rated.capacity)}, ${performance.rated.from}`;
  return wrapped(`How evenly it delivers (${terms.spread} spread against each limit${rated})`, "", "  ");
}

function figureLine({ performance, verdicts, terms }: CalibrateReport, name: FigureName): string {
  const figure = performance[name];
  if (!figure.isKnown) return line(name, `cannot tell: ${figure.why}. To find out, ${figure.mend}`);
  const at = figure.atRate === undefined ? "" : `, worst at ${showNumber(figure.atRate)} a minute`;
  const held = spreadPercent(name, figure.percent, terms.spread);
  const limit = `± ${FIGURE_LIMITS[name]} %`;
  const verdict = verdicts[name] === "within" ? `within ${limit}` : `OUTSIDE ${limit}`;
  return line(name, `${showNumber(held, 3)} % ${MEANINGS[name]}${at}: ${verdict}`);
}

const MEANINGS: { readonly [name in FigureName]: string } = {
  accuracy: "of the mean, between trials at one rate",
  repeatability: "of rated capacity, at a rate left and returned to",
  linearity: "of rated capacity, from the straight line",
};

function sourceLine(): string[] {
  return [wrapped(`Source: ${PERFORMANCE_SOURCE}.`, "  ")];
}
