/**
 * What does a plan tell a person? Plain words, 80 columns, the working where it is asked for. Harness layer.
 */
import {
  explain,
  type Finding,
  logShown,
  numberIn,
  type Plan,
  showNumber,
  shown,
} from "../../lib/dosing/index.js";
import { line, many, section, wrapped } from "../report/words.js";
import { downstreamOf } from "./downstream.js";
import { CAUTIONS, type PlanReport } from "./report.js";

const CANDIDATES_SHOWN = 5;
const CHANGES_SHOWN = 8;

/** The whole text, without a last line end. */
export function planText(report: PlanReport, explained: boolean): string {
  const { plan, findings, met } = report;
  const parts = [
    heading(plan, met),
    section("Mind before use", findings.map(findingLine)),
    section("Flows", flowLines(plan)),
    section("After the mixing volume, if it mixed ideally", mixedLines(plan)),
    section("Ratios, best first", candidateLines(plan)),
    section("Changes that would help", changeLines(plan)),
    explained ? section("Working", stepLines(plan)) : "",
    section(
      "Cautions",
      CAUTIONS.map((text) => wrapped(text, "  - ", "    ")),
    ),
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

function heading(plan: Plan, met: boolean): string {
  const { best, choice, duty, turndown } = plan;
  const ratio = `${best.strokes}:${best.contacts}`;
  const lines = [
    met
      ? `Ratio ${ratio}`
      : `No plan: as it stands it cannot be met or may not be used. Nearest ratio ${ratio}`,
    line(
      "meaning",
      `${many(best.strokes, "stroke")} for every ${many(best.contacts, "contact")}; a contact is worth ${showNumber(choice.strokesPerContact.valueOf(), 7)}`,
    ),
    line("dose", `${shown(best.dose)} of ${shown(duty.dose)} wanted (${signed(best.errorPercent)} %)`),
    line("stroke", `${shown(duty.strokeVolume)} of ${shown(duty.strength)} solution, as Cl2`),
    line("cap", `bites above ${shown(turndown.capBitesAt)}`),
    line("solution", `${shown(turndown.solutionPerDay)} a day, with ${dayOf(plan)} flow all day`),
  ];
  const life = turndown.stock;
  if (life !== undefined) {
    const why =
      life.limitedBy === "age" ? "by then a tenth of the strength is gone" : "by then the tank is empty";
    lines.push(line("refill", `after ${shown(life.refill)}: ${why}`));
  }
  if (plan.mix !== undefined)
    lines.push(line("mix", `${shown(plan.mix.stock)} of stock and ${shown(plan.mix.water)} of water`));
  if (plan.contact !== undefined && !("fault" in plan.contact)) {
    const { achieved, viruses, virusLog, virusesMet } = plan.contact;
    const verdict = virusesMet ? "met" : "NOT met";
    lines.push(
      line(
        "contact time",
        `CT ${shown(achieved)}, ${shown(viruses.required)} asked for ${viruses.cell}: ${verdict} (${logShown(virusLog, 4)})`,
      ),
    );
  }
  return lines.join("\n");
}

function dayOf({ duty }: Plan): string {
  return duty.typical === undefined ? "peak" : "typical";
}

function findingLine({ level, says, source }: Finding): string {
  return wrapped(
    `${says}. Source: ${source}.`,
    level === "refusal" ? "  REFUSED " : "  warning ",
    "          ",
  );
}

function flowLines({ turndown }: Plan): string[] {
  return turndown.rows.map((row) =>
    line(
      row.at,
      `${shown(row.flow)}: ${showNumber(row.strokesMade.valueOf())} strokes/min, ${shown(row.dose)} (${signed(row.errorPercent)} %), ` +
        `at most ${shown(row.spacing.longest.time)} and ${shown(row.spacing.longest.water)} between strokes` +
        (row.capBites ? "; THE CAP BITES" : ""),
    ),
  );
}

function mixedLines(plan: Plan): string[] {
  return downstreamOf(plan).map(({ at, cadence, peakToMean, under80Percent, underHalf }) =>
    line(
      `${at} ${cadence}`,
      `peak ${showNumber(peakToMean, 3)} times the mean; ${showNumber(under80Percent * 100, 2)} % of the water under 80 % of ` +
        `the dose, ${showNumber(underHalf * 100, 2)} % under half`,
    ),
  );
}

function candidateLines({ choice }: Plan): string[] {
  return choice.candidates
    .slice(0, CANDIDATES_SHOWN)
    .map((candidate) =>
      line(
        `${candidate.strokes}:${candidate.contacts}`,
        `${showNumber(numberIn(candidate.dose, "mg/L"))} mg/L (${signed(candidate.errorPercent)} %), ` +
          `${showNumber(candidate.strokesPerMinuteAtPeak)} strokes/min at peak, ${candidate.keepsUp ? "keeps up" : "does not keep up"}`,
      ),
    );
}

const CHANGED: { readonly [change: string]: string } = {
  meter: "water per contact",
  pump: "solution per stroke",
  solution: "strength",
  dose: "dose",
  grace: "still-water grace",
};

function changeLines({ choice }: Plan): string[] {
  return choice.mends
    .slice(0, CHANGES_SHOWN)
    .map(({ change, purpose, from, to, ratio }) =>
      line(
        change,
        `${CHANGED[change] ?? change} from ${shown(from)} to ${shown(to)}: ` +
          (ratio === undefined
            ? PURPOSES[purpose]
            : `${ratio.strokes}:${ratio.contacts} gives the dose exactly`) +
          (CARE[change] ?? ""),
      ),
    );
}

/** What must be weighed against a change. */
const CARE: { readonly [change: string]: string } = {
  dose: "; only if the water may have that dose",
  grace: "; but water that has stopped may then be dosed for that long",
};

const PURPOSES: { readonly [purpose in Plan["choice"]["mends"][number]["purpose"]]: string } = {
  "whole-ratio": "a whole ratio gives the dose exactly",
  "keep-up": "the pump keeps up at peak",
  "within-limits": "a ratio within the limits gives the dose exactly",
  "within-grace": "the strokes of a contact fit into the still-water grace",
  "spread-at-low": "strokes are spread from contact to contact at the lowest flow too",
  "even-feed": "mixing evens the dose out",
};

function stepLines(plan: Plan): string[] {
  return explain(plan).map(({ title, formula, numbers, result, source }, at) =>
    [
      wrapped(title, `  ${String(at + 1).padStart(2)}. `),
      wrapped(formula, "      "),
      wrapped(numbers, "      = "),
      wrapped(result, "      = "),
      ...(source === undefined ? [] : [wrapped(source, "      Source: ", "      ")]),
    ].join("\n"),
  );
}

function signed(percent: number): string {
  const text = showNumber(percent, 3);
  return percent > 0 ? `+${text}` : text;
}
