/**
 * What does a run look like over time, on paper? Contacts, strokes, owed, rate and what stood, on one axis. Harness layer.
 *
 * The page draws the same rows, to be zoomed; this drawing stands for it in print, without scripts, and as a file.
 */
import * as Plot from "@observablehq/plot";
import { MINUTE } from "../../../../lib/pacing/index.js";
import { bandOf, type Band, binsOf, downstreamBand, stretchesOf, type View } from "../columns.js";
import type { PageData } from "../page-data.js";
import { MODES, STANDING, type Moment } from "../series.js";
import { tickLabel, timeTicks } from "../time-axis.js";
import { span } from "../../words.js";
import { chart, type Figure, MARGIN_LEFT, MARGIN_RIGHT, stacked } from "./canvas.js";

const ROW_HEIGHT = 104;
const LANE_HEIGHT = 18;
const AXIS_HEIGHT = 30;
const MARGIN_TOP = 22;
/** Most bars of a row of counts. */
const BARS_MOST = 120;

export function timelineFigure(data: PageData, width: number): Figure {
  const id = "timeline";
  const view = data.whole;
  const row = (name: Row, label: string, top: number, marks: Plot.Markish[]): string =>
    chart({
      width,
      height: ROW_HEIGHT,
      marginTop: MARGIN_TOP,
      marginBottom: 6,
      x: { domain: [view.fromMicros, view.toMicros], axis: null },
      y: { domain: [0, top], label: null, ticks: 3, tickSize: 0, grid: true },
      marks: [
        Plot.ruleX(timeTicks(view.fromMicros, view.toMicros, 8).ticks, { stroke: "var(--line)" }),
        ...marks,
        Plot.ruleY([0], { stroke: "var(--muted)" }),
        Plot.text([label], { frameAnchor: "top-left", dx: 0, dy: -16, fontWeight: 600, fill: "var(--ink)" }),
        ...momentMarks(data.moments, name, top),
      ],
    });
  const rows = rowsOf(data, id, width).map(({ name, label, top, marks }) => ({
    svg: row(name, label, top, marks),
    height: ROW_HEIGHT,
  }));
  return {
    id,
    title: "The run over time",
    alt: data.words.timeline,
    svg: stacked(id, width, [...rows, lanes(data, id, width)]),
  };
}

type Row = Moment["row"];

interface RowDrawing {
  readonly name: Row;
  readonly label: string;
  readonly top: number;
  readonly marks: Plot.Markish[];
}

function rowsOf(data: PageData, id: string, width: number): RowDrawing[] {
  const view = data.whole;
  const bins = binsOf(data.run, view, BARS_MOST);
  const count = Math.max(10, width - MARGIN_LEFT - MARGIN_RIGHT);
  const bars = [...bins.contacts].map((contacts, i) => ({
    x1: bins.fromMicros + i * bins.widthMicros,
    x2: bins.fromMicros + (i + 1) * bins.widthMicros,
    contacts,
    paced: bins.paced[i] ?? 0,
    both: (bins.paced[i] ?? 0) + (bins.primed[i] ?? 0),
  }));
  const per = span(bins.widthMicros).replace(/^1 /, "");
  const most = (name: "contacts" | "both"): number => Math.max(1, ...bars.map((bar) => bar[name])) * 1.08;
  const bar = { x1: "x1", x2: "x2", insetRight: 0.4, clip: true } as const;
  const rate = rateBand(bandOf(data.run, "spacing", view, count));
  const rows: RowDrawing[] = [
    {
      name: "contacts",
      label: `contacts per ${per}`,
      top: most("contacts"),
      marks: [Plot.rect(bars, { ...bar, y1: 0, y2: "contacts", fill: "var(--water)" })],
    },
    {
      name: "strokes",
      label: `strokes per ${per}` + (bars.some(({ both, paced }) => both > paced) ? "; hatched: primed" : ""),
      top: most("both"),
      marks: [
        Plot.rect(bars, { ...bar, y1: 0, y2: "paced", fill: "var(--stroke)" }),
        Plot.rect(
          bars.filter(({ both, paced }) => both > paced),
          {
            ...bar,
            y1: "paced",
            y2: "both",
            fill: `url(#${id}-prime)`,
            stroke: "var(--prime)",
            strokeWidth: 0.5,
          },
        ),
      ],
    },
    {
      name: "owed",
      label: "strokes owed" + (data.owedLimitShown ? "; dashed: the limit" : ""),
      top: data.owedTop,
      marks: [
        ...bandMarks(bandOf(data.run, "owed", view, count), view, "owed"),
        ...(data.owedLimitShown ? [limit(data.owedLimit)] : []),
      ],
    },
    {
      name: "rate",
      label: "strokes a minute, from each spacing; dashed: the cap",
      top: data.rateTop,
      marks: [...bandMarks(rate, view, "stroke"), limit(data.cap)],
    },
  ];
  if (data.downstream !== undefined) {
    rows.push({
      name: "downstream",
      label: "mg/L after the mixing volume, reckoned; dashed: wanted",
      top: data.downstream.top,
      marks: [
        ...bandMarks(downstreamBand(data.downstream.series, view, count), view, "water"),
        limit(data.downstream.wanted),
      ],
    });
  }
  return rows;
}

/** Strokes a minute from times between strokes: the least spacing is the highest rate. */
function rateBand({ least, most }: Band): Band {
  return { least: most.map((spacing) => MINUTE / spacing), most: least.map((spacing) => MINUTE / spacing) };
}

/** Everything between the lowest and the highest of each column, on a paler ground down to 0. */
export function bandMarks({ least, most }: Band, view: View, colour: string): Plot.Markish[] {
  const width = (view.toMicros - view.fromMicros) / least.length;
  const points: { x: number; low: number; high: number }[] = [];
  least.forEach((low, i) => {
    if (Number.isNaN(low)) return;
    const high = most[i] as number;
    const x = view.fromMicros + i * width;
    points.push({ x, low, high });
    if (!Number.isNaN(least[i + 1] ?? NaN)) return;
    points.push({ x: x + width, low, high }, { x: x + width, low: NaN, high: NaN });
  });
  const step = { x: "x", y2: "high", curve: "step-after", fill: `var(--${colour})` } as const;
  return [
    Plot.areaY(points, { ...step, y1: 0, fillOpacity: 0.16 }),
    // A line around it, so that a value which does not move is seen too.
    Plot.areaY(points, { ...step, y1: "low", stroke: `var(--${colour})`, strokeWidth: 1 }),
  ];
}

export function limit(at: number): Plot.Markish {
  return Plot.ruleY([at], { stroke: "var(--bad)", strokeDasharray: "6 4", strokeWidth: 1.25 });
}

/** Numbered, in the order of the list beside the drawing. */
function momentMarks(moments: readonly Moment[], row: Row, top: number): Plot.Markish[] {
  const here = moments
    .map((moment, i) => ({ ...moment, number: String(i + 1) }))
    .filter((one) => one.row === row);
  return [
    Plot.ruleX(here, { x: "atMicros", stroke: "var(--bad)", strokeWidth: 1 }),
    Plot.dot(here, { x: "atMicros", y: top, r: 7, fill: "var(--paper)", stroke: "var(--bad)" }),
    Plot.text(here, {
      x: "atMicros",
      y: top,
      text: "number",
      fontSize: 9.5,
      fill: "var(--bad)",
      fontWeight: 700,
    }),
  ];
}

/** What stood, a lane each, and the axis of all rows. */
function lanes(data: PageData, id: string, width: number): { readonly svg: string; readonly height: number } {
  const view = data.whole;
  const bars = STANDING.flatMap((name, i) =>
    stretchesOf(data.run, 1 << i, view).map((stretch) => ({ ...stretch, name, mode: i < MODES })),
  );
  const names = STANDING.filter((name) => bars.some((bar) => bar.name === name));
  const { ticks, stepMicros } = timeTicks(
    view.fromMicros,
    view.toMicros,
    Math.max(2, Math.floor(width / 90)),
  );
  const height = MARGIN_TOP * (names.length > 0 ? 1 : 0) + names.length * LANE_HEIGHT + AXIS_HEIGHT + 6;
  const least = (view.toMicros - view.fromMicros) / 300;
  const drawn = bars.map((bar) => ({ ...bar, end: Math.max(bar.toMicros, bar.fromMicros + least) }));
  const svg = chart({
    width,
    height,
    marginTop: names.length > 0 ? MARGIN_TOP : 6,
    marginBottom: AXIS_HEIGHT,
    x: {
      domain: [view.fromMicros, view.toMicros],
      ticks,
      tickFormat: (at: number) => tickLabel(at, stepMicros),
      label: null,
    },
    y: { domain: names, axis: null, type: "band", padding: 0.2 },
    marks: [
      Plot.ruleX(ticks, { stroke: "var(--line)" }),
      Plot.barX(
        drawn.filter(({ mode }) => mode),
        { x1: "fromMicros", x2: "end", y: "name", fill: `url(#${id}-prime)`, clip: true },
      ),
      Plot.barX(
        drawn.filter(({ mode }) => !mode),
        { x1: "fromMicros", x2: "end", y: "name", fill: "var(--bad)", clip: true },
      ),
      Plot.text(names, {
        y: (name: string) => name,
        text: (name: string) => name,
        frameAnchor: "left",
        dx: 4,
        fontSize: 10,
        fill: "var(--ink)",
        stroke: "var(--paper)",
        strokeWidth: 4,
      }),
      ...(names.length > 0
        ? [
            Plot.text(["modes (hatched) and alarms (solid)"], {
              frameAnchor: "top-left",
              dy: -16,
              fontWeight: 600,
              fill: "var(--ink)",
            }),
          ]
        : []),
    ],
  });
  return { svg, height };
}
