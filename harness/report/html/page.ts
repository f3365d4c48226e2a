/**
 * How does a run become one file that opens anywhere? Its page and its drawings. Harness layer.
 *
 * With its script the rows over time can be zoomed. The same run gives the same bytes.
 */
import { many, whole } from "../words.js";
import { documentOf, type Part } from "./document.js";
import { doseFigure } from "./figures/dose.js";
import { downstreamFigure } from "./figures/downstream.js";
import { type Figure } from "./figures/canvas.js";
import { gaugeOf, lawsFigure } from "./figures/laws.js";
import { timelineFigure } from "./figures/timeline.js";
import { table } from "./html.js";
import type { ReportInput } from "./input.js";
import { isFarOff, lotsOf, type Lot } from "./lots.js";
import type { PageData } from "./page-data.js";
import { pageDataOf } from "./prepare.js";
import * as parts from "./sections.js";
import { counterexampleFigure, numbersPart, PAGE_WIDTH, timelinePart, windowsPart } from "./run-parts.js";
import { headlineOf, judgementOf } from "./sentences.js";
import { windowFigures } from "./window-figures.js";

const LOTS_MOST = 120;

/** All drawings of a run, in the order of the page. */
export interface Drawings {
  readonly counterexample: Figure | undefined;
  readonly timeline: Figure;
  readonly windows: readonly Figure[];
  readonly laws: Figure;
  readonly dose: Figure | undefined;
  readonly downstream: Figure | undefined;
}

export interface Report {
  readonly html: string;
  readonly figures: readonly Figure[];
}

/** Makes the page; `script` is what it runs. */
export function reportOf(input: ReportInput, script: string): Report {
  const data = pageDataOf(input);
  const lots = lotsOf(input.drawn.dose, LOTS_MOST);
  const drawings = drawingsOf(input, data, lots);
  const { counterexample, timeline, windows, laws, dose, downstream } = drawings;
  const figures = [counterexample, timeline, ...windows, laws, dose, downstream].filter(
    (one) => one !== undefined,
  );
  return { html: pageOf(input, data, lots, drawings, script), figures };
}

/** The page alone. */
export function reportPage(input: ReportInput, script: string): string {
  return reportOf(input, script).html;
}

function drawingsOf(input: ReportInput, data: PageData, lots: readonly Lot[]): Drawings {
  const { report, drawn, counterexample: found } = input;
  return {
    counterexample: found && counterexampleFigure(found, "counterexample", PAGE_WIDTH),
    timeline: timelineFigure(data, PAGE_WIDTH),
    windows: windowFigures(input, PAGE_WIDTH),
    laws: lawsFigure(
      report.verdicts.map((verdict) => gaugeOf(verdict, report.inForce)),
      PAGE_WIDTH,
    ),
    dose: lots.length === 0 ? undefined : doseFigure(lots, volumeAxis(input), doseWords(lots), PAGE_WIDTH),
    downstream: downstreamFigure(data, downstreamWords(drawn.downstream), PAGE_WIDTH),
  };
}

function pageOf(
  input: ReportInput,
  data: PageData,
  lots: readonly Lot[],
  drawings: Drawings,
  script: string,
): string {
  const { report, counterexample: found } = input;
  const gauges = report.verdicts.map((verdict) => gaugeOf(verdict, report.inForce));
  const sections: Part[] = [
    ["timeline", "The run over time", timelinePart(data, drawings.timeline)],
    ["moments-exactly", "The worst moments, event by event", windowsPart(drawings.windows)],
    ["laws", "The laws, and how close each came to breaking", parts.lawsPart(report.verdicts, gauges)],
    ["dose", "Dose error over the water that passed", dosePart(input, lots, drawings.dose)],
    ["downstream", "Downstream of the injection", downstreamPart(input, drawings.downstream)],
    ["alarms", "Alarms", parts.alarmsPart(report)],
    ["ran", "What ran", parts.ranPart(input)],
    ["mind", "What to mind", parts.mindPart()],
    ["numbers", "The numbers, as --json prints them", numbersPart(input.numbers)],
  ];
  if (found !== undefined && drawings.counterexample !== undefined) {
    const body = parts.paragraphs(found.says) + parts.figure(drawings.counterexample, "");
    sections.unshift(["counterexample", drawings.counterexample.title, body]);
  }
  return documentOf({
    title: `${headlineOf(judgementOf(report))} · ${report.source}`,
    header: parts.headerPart(input),
    parts: sections,
    data,
    script,
  });
}

/** In litres where a plan tells how much a contact is, else in contacts. */
function volumeAxis({ drawn }: ReportInput): { readonly unit: string; readonly per: number } {
  const { downstream } = drawn;
  return downstream === undefined
    ? { unit: "contacts", per: 1 }
    : { unit: "litres", per: downstream.water.litresPerContact };
}

function doseWords(lots: readonly Lot[]): string {
  const parts_ = lots.map(({ part }) => 100 * part);
  const off = lots.filter(isFarOff).length;
  return (
    `${many(lots.length, "lot")} of water; the least got ${percent(Math.min(...parts_))}, the most ${percent(Math.max(...parts_))} ` +
    `of what was asked; ${off} ${off === 1 ? "is" : "are"} off by more than a tenth and more than one contact's strokes.`
  );
}

function percent(value: number): string {
  return `${value.toFixed(1)} %`;
}

function dosePart(input: ReportInput, lots: readonly Lot[], drawing: Figure | undefined): string {
  if (drawing === undefined) return parts.paragraphs("No water passed.");
  const { unit, per } = volumeAxis(input);
  const rows = lots.map((lot) => [
    `${whole(lot.from * per)} to ${whole(lot.to * per)}`,
    whole(lot.asked),
    whole(lot.paced),
    whole(lot.primed),
    percent(100 * lot.part),
    isFarOff(lot) ? (lot.part < 1 ? "under" : "over") : "",
  ]);
  const how =
    "Each lot is fed what was stroked from its first contact until the next lot began; hatched lots are off by more than " +
    "a tenth and more than one contact's strokes. Below, everything that was paced so far against the exact amount. Primed strokes " +
    "count for the dose of a lot, and not for what was paced.";
  return [
    parts.paragraphs(doseWords(lots)),
    parts.figure(drawing, how),
    `<details><summary>Each lot in numbers</summary>${table(`Lots of water, in ${unit}`, [unit, "Asked, strokes", "Paced", "Primed", "Of what was asked", "Far off"], rows)}</details>`,
  ].join("\n");
}

function downstreamWords(downstream: ReportInput["drawn"]["downstream"]): string {
  if (downstream === undefined) return "";
  const { figures, water } = downstream;
  const mg = (value: number | undefined): string =>
    value === undefined ? "unknown" : `${value.toPrecision(3)} mg/L`;
  const under = figures.under.map(({ partOfWanted, share }) => {
    const than = partOfWanted === 1 ? "the wanted dose" : `${100 * partOfWanted} % of it`;
    return `${share === undefined ? "unknown" : percent(100 * share)} under ${than}`;
  });
  return (
    `Wanted ${mg(water.wantedMgPerLitre)}; mean ${mg(figures.meanMgPerLitre)}, highest ${mg(figures.peakMgPerLitre)}, ` +
    `lowest ${mg(figures.lowestMgPerLitre)}. Of the water, ${under.join(", ")}.`
  );
}

function downstreamPart({ drawn, planRatio, report }: ReportInput, drawing: Figure | undefined): string {
  if (drawing === undefined || drawn.downstream === undefined) {
    return parts.paragraphs(
      "Not drawn: nothing is known of the water. Give the plan (--plan PLAN.json) to see what the dose comes to after mixing.",
    );
  }
  const { water } = drawn.downstream;
  const differs = planRatio !== undefined && planRatio !== report.settings["ratio"];
  const mind = differs
    ? [`Mind: the plan's ratio is ${planRatio}, this run's is ${String(report.settings["ratio"])}.`]
    : [];
  const how =
    `Reckoned, not measured: ${water.mixingLitres.toPrecision(3)} L that mix ideally, without demand or decay, holding the ` +
    "wanted dose at the start. A real pipe mixes less well. Water is taken to flow evenly between two contacts.";
  return parts.paragraphs(...mind, downstreamWords(drawn.downstream)) + parts.figure(drawing, how);
}
