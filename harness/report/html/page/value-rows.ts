/**
 * Which rows of values are there, how high do they reach, and how is each drawn? Runs in the page.
 */
import { span } from "../../words.js";
import { bandOf, type Bins, binsOf, downstreamBand, type View } from "../columns.js";
import type { PageData } from "../page-data.js";
import type { Moment } from "../series.js";
import type { Brush } from "./brush.js";

/** Least width of a bar of a row of counts, CSS px. */
const BAR_LEAST = 6;

/** One row: its name, how high it reaches in the view, and how it is drawn. */
export interface RowOf {
  readonly name: Moment["row"];
  title(view: View, width: number): string;
  top(view: View, width: number): number;
  draw(brush: Brush, view: View): void;
}

export function valueRows(data: PageData): RowOf[] {
  const { run, downstream } = data;
  const barsFor = (view: View, width: number): Bins => binsOf(run, view, Math.max(10, width / BAR_LEAST));
  const per = (view: View, width: number): string =>
    span(barsFor(view, width).widthMicros).replace(/^1 /, "");
  const most = (counts: Float64Array): number =>
    counts.reduce((top, count) => Math.max(top, count), 1) * 1.12;
  const rows: RowOf[] = [
    {
      name: "contacts",
      title: (view, width) => `contacts per ${per(view, width)}`,
      top: (view, width) => most(barsFor(view, width).contacts),
      draw(brush, view) {
        const bins = barsFor(view, brush.cssWidth);
        brush.bars(bins, bins.contacts, undefined, "water");
      },
    },
    {
      name: "strokes",
      title: (view, width) => `strokes per ${per(view, width)}; hatched: primed`,
      top(view, width) {
        const { paced, primed } = barsFor(view, width);
        return most(paced.map((count, i) => count + (primed[i] ?? 0)));
      },
      draw(brush, view) {
        const bins = barsFor(view, brush.cssWidth);
        brush.bars(bins, bins.paced, undefined, "stroke");
        brush.bars(bins, bins.primed, bins.paced, "prime");
      },
    },
    {
      name: "owed",
      title: () =>
        `strokes owed${data.owedLimitShown ? "; dashed: the limit" : `; the limit, ${data.owedLimit}, is far above`}`,
      top: () => data.owedTop,
      draw(brush, view) {
        brush.band(bandOf(run, "owed", view, brush.columns), "owed");
        if (data.owedLimitShown) brush.limit(data.owedLimit);
      },
    },
    {
      name: "rate",
      title: () => "strokes a minute, from each time between two; dashed: the cap",
      top: () => data.rateTop,
      draw(brush, view) {
        const { least, most: longest } = bandOf(run, "spacing", view, brush.columns);
        const rate = (micros: number): number => 60_000_000 / micros;
        brush.band({ least: longest.map(rate), most: least.map(rate) }, "stroke");
        brush.limit(data.cap);
      },
    },
  ];
  if (downstream === undefined) return rows;
  return [
    ...rows,
    {
      name: "downstream",
      title: () => "mg/L after the mixing volume, reckoned; dashed: wanted",
      top: () => downstream.top,
      draw(brush, view) {
        brush.band(downstreamBand(downstream.series, view, brush.columns), "water");
        brush.limit(downstream.wanted);
      },
    },
  ];
}
