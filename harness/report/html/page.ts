/**
 * How does a run become one file that opens anywhere? The whole HTML page, with all that it needs inside. Harness layer.
 *
 * It asks for nothing from anywhere, and says so to the browser. Without its script it is a complete document; with it
 * the rows over time can be zoomed. The same run gives the same bytes.
 */
import { clock, many, span, whole } from "../words.js";
import { binsOf } from "./columns.js";
import { doseFigure } from "./figures/dose.js";
import { downstreamFigure } from "./figures/downstream.js";
import { type Figure } from "./figures/canvas.js";
import { gaugeOf, lawsFigure } from "./figures/laws.js";
import { timelineFigure } from "./figures/timeline.js";
import { timingFigure } from "./figures/timing.js";
import { escaped, jsonScript, table } from "./html.js";
import type { ReportInput } from "./input.js";
import { liveRows } from "./live.js";
import { isFarOff, lotsOf, type Lot } from "./lots.js";
import { packed, type PageData } from "./page-data.js";
import { pageDataOf } from "./prepare.js";
import * as parts from "./sections.js";
import { headlineOf } from "./sentences.js";
import { STYLE } from "./style.js";
import { windowFigures } from "./window-figures.js";

const WIDTH = 760;
const LOTS_MOST = 120;
const ROWS_OF_TABLE = 24;

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
    counterexample:
      found &&
      timingFigure(
        {
          id: "counterexample",
          title: `The smallest case that breaks ${found.law}`,
          events: found.events,
          momentMicros: found.atMicros,
          momentSays: found.atMicros === undefined ? undefined : `${found.law} breaks`,
        },
        WIDTH,
      ),
    timeline: timelineFigure(data, WIDTH),
    windows: windowFigures(input, WIDTH),
    laws: lawsFigure(
      report.verdicts.map((verdict) => gaugeOf(verdict, report.inForce)),
      WIDTH,
    ),
    dose: lots.length === 0 ? undefined : doseFigure(lots, volumeAxis(input), doseWords(lots), WIDTH),
    downstream: downstreamFigure(data, downstreamWords(drawn.downstream), WIDTH),
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
  const sections: [string, string, string][] = [
    ["timeline", "The run over time", timelinePart(data, drawings.timeline)],
    ["moments-exactly", "The worst moments, event by event", windowsPart(drawings.windows)],
    ["laws", "The laws, and how close each came to breaking", parts.lawsPart(report.verdicts, gauges)],
    ["dose", "Dose error over the water that passed", dosePart(input, lots, drawings.dose)],
    ["downstream", "Downstream of the injection", downstreamPart(input, drawings.downstream)],
    ["alarms", "Alarms", parts.alarmsPart(report)],
    ["ran", "What ran", parts.ranPart(input)],
    ["mind", "What to mind", parts.mindPart()],
    ["numbers", "The numbers, as --json prints them", numbersPart(input)],
  ];
  if (found !== undefined && drawings.counterexample !== undefined) {
    const body = parts.paragraphs(found.says) + parts.figure(drawings.counterexample, "");
    sections.unshift(["counterexample", `The smallest case that breaks ${found.law}`, body]);
  }
  const links = sections.map(([id, title]) => `<li><a href="#${id}">${escaped(title)}</a></li>`).join("");
  return [
    "<!doctype html>",
    '<html lang="en">',
    '<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">',
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">`,
    `<title>${escaped(`${headlineOf(report)} · ${report.source}`)}</title>`,
    `<style>${STYLE}</style></head>`,
    '<body class="no-live"><a class="skip" href="#timeline">To the run over time</a>',
    `<main class="sheet">`,
    parts.headerPart(input),
    `<nav class="contents" aria-label="Contents"><ul>${links}</ul></nav>`,
    ...sections.map((one) => parts.section(...one)),
    "</main>",
    jsonScript("drawn", packed(data)),
    `<script>${script.replace(/<\/(?=script)/gi, "<\\/")}</script>`,
    "</body></html>",
  ].join("\n");
}

function timelinePart(data: PageData, drawing: Figure): string {
  return [
    liveRows(drawing.alt),
    `<div class="paper">${parts.figure(drawing, "Every column shows the least and the most of its time, so that no peak is lost.")}</div>`,
    parts.momentsPart(data.moments, data.whole.toMicros - data.whole.fromMicros),
    `<details><summary>The run in numbers</summary>${timeTable(data)}</details>`,
  ].join("\n");
}

function timeTable(data: PageData): string {
  const bins = binsOf(data.run, data.whole, ROWS_OF_TABLE);
  const rows = [...bins.contacts].map((contacts, i) => [
    clock(Math.max(0, bins.fromMicros + i * bins.widthMicros)),
    whole(contacts),
    whole(bins.paced[i] ?? 0),
    whole(bins.primed[i] ?? 0),
    whole(bins.shed[i] ?? 0),
  ]);
  const caption = `Counts in steps of ${span(bins.widthMicros)}`;
  return table(caption, ["From", "Contacts", "Paced", "Primed", "Given up"], rows);
}

function windowsPart(figures: readonly Figure[]): string {
  if (figures.length === 0) return parts.paragraphs("Nothing happened that could be drawn.");
  const how =
    "Each stretch is drawn from the trace itself, to the microsecond. A number over a contact is what it earned.";
  const drawn = figures.map((one) => `<h3>${escaped(one.title)}</h3>${parts.figure(one, "")}`);
  return parts.paragraphs(how) + drawn.join("\n");
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

function numbersPart({ numbers }: ReportInput): string {
  return (
    `<details><summary>Show them</summary><pre class="numbers" tabindex="0" role="region" aria-label="The numbers">${escaped(JSON.stringify(numbers, null, 2))}</pre></details>` +
    jsonScript("report-numbers", numbers)
  );
}
