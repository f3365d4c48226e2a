/**
 * What does a run look like? Contacts and strokes over time, one small chart under the other. Harness layer.
 */
import plot from "simple-ascii-chart";
import type { Micros } from "../../lib/pacing/index.js";
import { type Bins, BINS_MOST } from "./bins.js";
import { CONTACTS, STROKES } from "./tally.js";
import { clock, span } from "./words.js";

const ROWS = 5;

/** Two charts of equal width on one time axis; empty where nothing happened. */
export function chartOf(bins: Bins): string {
  const [contacts = [], strokes = []] = [bins.counts[CONTACTS], bins.counts[STROKES]];
  if (contacts.length === 0) return "";
  const per = span(bins.widthMicros);
  return [
    `contacts per ${per}`,
    bars(contacts, bins.widthMicros),
    `strokes per ${per}`,
    bars(strokes, bins.widthMicros),
  ].join("\n");
}

function bars(counts: readonly number[], widthMicros: Micros): string {
  const last = Math.max(1, counts.length - 1);
  const top = Math.max(1, ...counts);
  // Two bins at the least, so that there is an axis.
  const points = Array.from({ length: last + 1 }, (_, i): [number, number] => [i, counts[i] ?? 0]);
  const chart = plot(points, {
    width: Math.min(BINS_MOST - 2, Math.max(24, last + 1)),
    height: ROWS,
    yRange: [0, top],
    customXAxisTicks: [0, last],
    customYAxisTicks: [0, top],
    formatter: (value, { axis }) =>
      axis === "x" ? clock(value * widthMicros) : String(Math.round(value)).padStart(6),
    lineFormatter: ({ y, plotX, plotY }) => (y === 0 ? [] : column(plotX, plotY)),
  });
  return chart
    .split("\n")
    .map((line) => line.trimEnd())
    .filter((line) => line !== "")
    .join("\n");
}

/** A bar from its top down to the axis. */
function column(x: number, top: number): { x: number; y: number; symbol: string }[] {
  const symbols = [];
  for (let y = top; y <= ROWS; y++) symbols.push({ x, y, symbol: "█" });
  return symbols;
}
