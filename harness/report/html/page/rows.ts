/**
 * How are the rows drawn? One chart each, on one time axis, redrawn for every view. Runs in the page.
 *
 * The chart library gives axes, cursor and selection; what is drawn is brought down to one column a pixel here.
 */
import uPlot from "uplot";
import style from "uplot/dist/uPlot.min.css?inline";
import { span } from "../../words.js";
import { bandOf, type View } from "../columns.js";
import type { PageData } from "../page-data.js";
import type { Moment } from "../series.js";
import { tickLabel, timeIn, timeTicks } from "../time-axis.js";
import { type Brush, newBrush } from "./brush.js";
import { lanesOf, LANE_HEIGHT } from "./lanes.js";
import { type RowOf, valueRows } from "./value-rows.js";
import type { ViewOf } from "./view.js";

const HEIGHT = 104;
const AXIS_HEIGHT = 34;
const AXIS_WIDTH = 48;
/** A narrower selection is a click, CSS px. */
const SELECT_LEAST = 4;

export function startRows(data: PageData, view: ViewOf): void {
  const place = document.getElementById("rows");
  if (place === null) return;
  const sheet = document.createElement("style");
  sheet.textContent = style;
  document.head.append(sheet);
  const lanes = lanesOf(data);
  const rows = [...valueRows(data), lanes.row];
  const charts = rows.map((row, i) => {
    const name = document.createElement("p");
    name.className = "row-name";
    const box = document.createElement("div");
    box.setAttribute("aria-hidden", "true");
    place.append(name, box);
    const isLast = i === rows.length - 1;
    const height = isLast ? lanes.count * LANE_HEIGHT + AXIS_HEIGHT + 8 : HEIGHT;
    return { row, name, chart: chartOf(data, row, { view, box, height, isLast }) };
  });

  const redraw = (): void => {
    const now = view.now();
    for (const { row, name, chart } of charts) {
      const width = chart.bbox.width / devicePixelRatio;
      name.textContent = row.title(now, width);
      chart.batch(() => {
        chart.setScale("x", { min: now.fromMicros, max: now.toMicros });
        chart.setScale("y", { min: 0, max: row.top(now, width) });
      });
    }
  };
  view.onChange(redraw);
  new ResizeObserver(() => {
    for (const { chart } of charts) chart.setSize({ width: place.clientWidth, height: chart.height });
    redraw();
  }).observe(place);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    for (const { chart } of charts) chart.redraw(true, true);
  });
  redraw();
}

interface ChartTerms {
  readonly view: ViewOf;
  readonly box: HTMLElement;
  readonly height: number;
  readonly isLast: boolean;
}

type Colour = (name: string) => () => string;

const colour: Colour = (name) => () => getComputedStyle(document.body).getPropertyValue(`--${name}`);
const asGiven = (_: uPlot, min: number, max: number): [number, number] => [min, max];

function chartOf(data: PageData, row: RowOf, { view, box, height, isLast }: ChartTerms): uPlot {
  const { fromMicros, toMicros } = data.whole;
  const chart = new uPlot(
    {
      width: Math.max(1, box.clientWidth),
      height,
      padding: [10, 10, isLast ? 0 : 4, 0],
      scales: { x: { time: false, range: asGiven }, y: { range: asGiven } },
      axes: axesOf(isLast),
      series: [{}, { paths: () => null, points: { show: false } }],
      legend: { show: false },
      cursor: {
        y: false,
        // The line follows the pointer in every row; only the row that is dragged over selects.
        sync: { key: "rows", filters: { pub: (type) => type === "mousemove" || type === "mouseleave" } },
        drag: { x: true, y: false, setScale: false },
        points: { show: false },
      },
      hooks: hooksOf(data, row, view),
    },
    [
      [fromMicros, toMicros],
      [0, 0],
    ],
    box,
  );
  chart.over.addEventListener("dblclick", () => {
    view.whole();
  });
  const wheel = (event: WheelEvent): void => {
    // Without a key the wheel scrolls the page.
    if (!event.ctrlKey) return;
    event.preventDefault();
    view.zoom(event.deltaY > 0 ? 1.25 : 0.8, chart.posToVal(event.offsetX, "x"));
  };
  chart.over.addEventListener("wheel", wheel, { passive: false });
  return chart;
}

function axesOf(isLast: boolean): uPlot.Axis[] {
  const grid = { stroke: colour("line"), width: 1 };
  const font = "12px system-ui, sans-serif";
  const time: uPlot.Axis = {
    size: isLast ? AXIS_HEIGHT : 0,
    stroke: colour("muted"),
    grid,
    font,
    ticks: { show: isLast, stroke: colour("line") },
    splits: (u, _, min, max) => timeTicks(min, max, ticksFor(u)).ticks,
    values(u, splits) {
      const { min = 0, max = 1 } = u.scales["x"] ?? {};
      const { stepMicros } = timeTicks(min, max, ticksFor(u));
      return splits.map((at) => (isLast ? tickLabel(at, stepMicros) : ""));
    },
  };
  const values: uPlot.Axis = {
    size: AXIS_WIDTH,
    stroke: colour("muted"),
    font,
    grid: isLast ? { show: false } : grid,
    ticks: { show: false },
    space: 24,
    values: (_, splits) => splits.map((value) => (isLast ? "" : short(value))),
  };
  return [time, values];
}

function hooksOf(data: PageData, row: RowOf, view: ViewOf): uPlot.Hooks.Arrays {
  return {
    draw: [
      (u) => {
        const brush = newBrush(u, colour);
        brush.within(() => {
          row.draw(brush, view.now());
        });
        markMoments(brush, data.moments, row.name);
      },
    ],
    setSelect: [
      (u) => {
        if (u.select.width < SELECT_LEAST) return;
        const fromMicros = u.posToVal(u.select.left, "x");
        const toMicros = u.posToVal(u.select.left + u.select.width, "x");
        u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
        view.show({ fromMicros, toMicros });
      },
    ],
    setCursor: [
      (u) => {
        if (row.name === "contacts") readOut(data, view.now(), u);
      },
    ],
  };
}

function ticksFor(u: uPlot): number {
  return Math.max(2, Math.floor(u.width / 85));
}

function short(value: number): string {
  return value >= 10_000 ? `${value / 1_000}k` : String(value);
}

function markMoments(brush: Brush, moments: readonly Moment[], row: Moment["row"]): void {
  moments.forEach((moment, i) => {
    if (moment.row === row) brush.flag(moment.atMicros, String(i + 1));
  });
}

function readOut({ run }: PageData, view: View, u: uPlot): void {
  const out = document.getElementById("readout");
  const left = u.cursor.left ?? -1;
  if (out === null || left < 0) return;
  const at = u.posToVal(left, "x");
  const pixel = (view.toMicros - view.fromMicros) / Math.max(1, u.over.clientWidth);
  const column = { fromMicros: at, toMicros: at + pixel };
  const owed = bandOf(run, "owed", column, 1);
  const spacing = bandOf(run, "spacing", column, 1);
  const range = ({ least, most }: typeof owed, show: (value: number) => string): string =>
    least[0] === most[0] ? show(least[0] ?? 0) : `${show(least[0] ?? 0)} to ${show(most[0] ?? 0)}`;
  out.textContent = [
    `Under the pointer: ${timeIn(at, view.toMicros - view.fromMicros)}`,
    Number.isNaN(owed.most[0] ?? NaN) ? "owed not told" : `${range(owed, String)} owed`,
    Number.isNaN(spacing.least[0] ?? NaN) ? "no stroke" : `${range(spacing, span)} between strokes`,
  ].join("; ");
}
