/**
 * The parts that show one run: its rows over time, its worst moments, its smallest failing case. Harness layer.
 */
import type { TraceEvent } from "../../../lib/trace/index.js";
import { clock, span, whole } from "../words.js";
import { binsOf } from "./columns.js";
import type { Figure } from "./figures/canvas.js";
import { timingFigure } from "./figures/timing.js";
import { escaped, jsonScript, table } from "./html.js";
import type { Counterexample } from "./input.js";
import { liveRows } from "./live.js";
import type { PageData } from "./page-data.js";
import * as parts from "./sections.js";

/** Width that drawings are made for, px. */
export const PAGE_WIDTH = 760;
const ROWS_OF_TABLE = 24;

/** Most events of a case that are drawn: those up to the moment at which it breaks, and a few after. */
const CASE_EVENTS_MOST = 160;
const CASE_EVENTS_AFTER = 10;

/** The smallest case that was found, as a timing diagram. */
export function counterexampleFigure(
  { law, events, atMicros }: Counterexample,
  id: string,
  width: number,
): Figure {
  const momentSays = atMicros === undefined ? undefined : `${law} breaks`;
  const shown = drawnOf(events, atMicros);
  const left =
    events.length > CASE_EVENTS_MOST ? `, its last ${shown.length} of ${events.length} events` : "";
  return timingFigure(
    {
      id,
      title: `The smallest case that breaks ${law}${left}`,
      events: shown,
      momentMicros: atMicros,
      momentSays,
    },
    width,
  );
}

function drawnOf(events: readonly TraceEvent[], atMicros: number | undefined): readonly TraceEvent[] {
  const told = events.filter(({ kind }) => kind !== "wake");
  const after = atMicros === undefined ? -1 : told.findIndex((event) => event.atMicros > atMicros);
  const end = after < 0 ? told.length : Math.min(told.length, after + CASE_EVENTS_AFTER);
  return told.slice(Math.max(0, end - CASE_EVENTS_MOST), end);
}

/** Rows over time: to be zoomed on a screen, still on paper. */
export function timelinePart(data: PageData, drawing: Figure): string {
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

/** Stretches of the trace around the worst moments. */
export function windowsPart(figures: readonly Figure[]): string {
  if (figures.length === 0) return parts.paragraphs("Nothing happened that could be drawn.");
  const how =
    "Each stretch is drawn from the trace itself, to the microsecond. A number over a contact is what it earned.";
  const drawn = figures.map((one) => `<h3>${escaped(one.title)}</h3>${parts.figure(one, "")}`);
  return parts.paragraphs(how) + drawn.join("\n");
}

/** What `--json` prints, to be read by eye or by a program. */
export function numbersPart(numbers: object): string {
  return (
    `<details><summary>Show them</summary><pre class="numbers" tabindex="0" role="region" aria-label="The numbers">${escaped(JSON.stringify(numbers, null, 2))}</pre></details>` +
    jsonScript("report-numbers", numbers)
  );
}
