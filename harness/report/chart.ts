/**
 * What does a run look like? Contacts and strokes over time, one small chart under the other. Harness layer.
 */
import plot from "simple-ascii-chart";
import type { Bins } from "./bins.js";
import { CONTACTS, STROKES } from "./tally.js";
import { clock, span } from "./words.js";

const ROWS = 5;
/** With it and the axis, as many bins as there can be fit the screen. */
const LABEL_COLUMNS = 5;
const LABEL = new Intl.NumberFormat("en-US", { notation: "compact" });

/** Two charts of equal width on one time axis; empty where nothing happened. */
export function chartOf(bins: Bins): string {
  const [contacts = [], strokes = []] = [bins.counts[CONTACTS], bins.counts[STROKES]];
  if (contacts.length === 0) return "";
  const from = `per ${span(bins.widthMicros)}, 00:00:00 to ${clock(contacts.length * bins.widthMicros)}`;
  return [`contacts ${from}`, bars(contacts), `strokes ${from}`, bars(strokes)].join("\n");
}

function bars(counts: readonly number[]): string {
  const top = Math.max(1, ...counts);
  // Two bins at the least, so that there is an axis.
  const points = Array.from({ length: Math.max(2, counts.length) }, (_, i): [number, number] => [
    i,
    counts[i] ?? 0,
  ]);
  const chart = plot(points, {
    width: points.length,
    height: ROWS,
    yRange: [0, top],
    hideXAxisTicks: true,
    customYAxisTicks: [0, top],
    formatter: (value) => LABEL.format(value),
    lineFormatter: ({ y, plotX, plotY }) => (y === 0 ? [] : column(plotX, plotY)),
  });
  const lines = chart
    .split("\n")
    .map((line) => line.trimEnd())
    .filter((line) => line !== "" && !/^ *▲$/.test(line));
  const indent = " ".repeat(Math.max(0, LABEL_COLUMNS - (lines[0] ?? "").indexOf("┤")));
  return lines.map((line) => indent + line).join("\n");
}

/** A bar from its top down to the axis. */
function column(x: number, top: number): { x: number; y: number; symbol: string }[] {
  const symbols = [];
  for (let y = top; y <= ROWS; y++) symbols.push({ x, y, symbol: "█" });
  return symbols;
}
