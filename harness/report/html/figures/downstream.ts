/**
 * What would the water be like after the mixing volume? The concentration over time, on paper. Harness layer.
 */
import * as Plot from "@observablehq/plot";
import { downstreamBand } from "../columns.js";
import type { PageData } from "../page-data.js";
import { tickLabel, timeTicks } from "../time-axis.js";
import { chart, type Figure, MARGIN_LEFT, MARGIN_RIGHT, stacked } from "./canvas.js";
import { bandMarks, limit } from "./timeline.js";

const HEIGHT = 190;

export function downstreamFigure(data: PageData, alt: string, width: number): Figure | undefined {
  const { downstream, whole: view } = data;
  if (downstream === undefined) return undefined;
  const id = "downstream";
  const count = width - MARGIN_LEFT - MARGIN_RIGHT;
  const { ticks, stepMicros } = timeTicks(view.fromMicros, view.toMicros, Math.floor(width / 90));
  const svg = chart({
    width,
    height: HEIGHT,
    marginTop: 24,
    marginBottom: 30,
    x: {
      domain: [view.fromMicros, view.toMicros],
      ticks,
      tickFormat: (at: number) => tickLabel(at, stepMicros),
      label: null,
    },
    y: { domain: [0, downstream.top], label: null, ticks: 4, tickSize: 0, grid: true },
    marks: [
      ...bandMarks(downstreamBand(downstream.series, view, count), view, "water"),
      limit(downstream.wanted),
      Plot.ruleY([0], { stroke: "var(--muted)" }),
      Plot.text(["mg/L after the mixing volume, reckoned; dashed: wanted"], {
        frameAnchor: "top-left",
        dy: -16,
        fontWeight: 600,
        fill: "var(--ink)",
      }),
    ],
  });
  return { id, title: "Concentration downstream", alt, svg: stacked(id, width, [{ svg, height: HEIGHT }]) };
}
