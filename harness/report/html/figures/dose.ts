/**
 * Which water got its dose, and by how much was the rest off? Over the water that passed. Harness layer.
 */
import * as Plot from "@observablehq/plot";
import { endsPercent, isFarOff, type Lot } from "../lots.js";
import { chart, type Figure, stacked } from "./canvas.js";

const DOSE_HEIGHT = 190;
const AHEAD_HEIGHT = 150;

/** `unit` is what `from` and `to` of the lots are counted in, and `per` how many of it one contact is. */
export function doseFigure(
  lots: readonly Lot[],
  axis: { readonly unit: string; readonly per: number },
  alt: string,
  width: number,
): Figure {
  const id = "dose";
  const panel = { drawn: lots.map((lot) => drawnOf(lot, axis.per)), id, unit: axis.unit, width };
  return {
    id,
    title: "Dose error over the water that passed",
    alt,
    svg: stacked(id, width, [
      { svg: doseChart(panel), height: DOSE_HEIGHT },
      { svg: aheadChart(panel), height: AHEAD_HEIGHT },
    ]),
  };
}

interface Panel {
  readonly drawn: readonly ReturnType<typeof drawnOf>[];
  readonly id: string;
  readonly unit: string;
  readonly width: number;
}

/** `from` and `to` in the unit of the axis, doses in percent. */
function drawnOf(lot: Lot, per: number) {
  return {
    ...lot,
    from: lot.from * per,
    to: lot.to * per,
    percent: 100 * lot.part,
    off: isFarOff(lot),
    oneMore: 100 + endsPercent(lot),
    oneLess: Math.max(0, 100 - endsPercent(lot)),
  };
}

function domainOf({ drawn }: Panel): [number, number] {
  return [drawn[0]?.from ?? 0, drawn.at(-1)?.to ?? 1];
}

function title(text: string): Plot.Markish {
  return Plot.text([text], { frameAnchor: "top-left", dy: -16, fontWeight: 600, fill: "var(--ink)" });
}

function doseChart(panel: Panel): string {
  const { drawn, id, width } = panel;
  const domain = domainOf(panel);
  const top = Math.max(120, ...drawn.map(({ percent }) => percent)) * 1.04;
  const bar = { x1: "from", x2: "to", y1: 100, y2: "percent", insetRight: 0.3 } as const;
  return chart({
    width,
    height: DOSE_HEIGHT,
    marginTop: 24,
    marginBottom: 12,
    x: { domain, axis: null },
    y: {
      domain: [0, top],
      label: null,
      ticks: 4,
      tickSize: 0,
      grid: true,
      tickFormat: (value: number) => `${value} %`,
    },
    marks: [
      Plot.rect(drawn, {
        x1: "from",
        x2: "to",
        y1: "oneLess",
        y2: "oneMore",
        fill: "var(--line)",
        fillOpacity: 0.7,
      }),
      Plot.rect(
        drawn.filter(({ off }) => !off),
        { ...bar, fill: "var(--water)", stroke: "var(--water)", strokeWidth: 0.8 },
      ),
      Plot.rect(
        drawn.filter(({ off }) => off),
        { ...bar, fill: `url(#${id}-bad)`, stroke: "var(--bad)", strokeWidth: 0.8 },
      ),
      Plot.ruleY([100], { stroke: "var(--ink)" }),
      Plot.ruleY([0], { stroke: "var(--muted)" }),
      title("dose of each lot of water, of what was asked; grey: one contact's strokes more or less"),
    ],
  });
}

function aheadChart(panel: Panel): string {
  const { drawn, unit, width } = panel;
  const lowest = Math.min(0, ...drawn.map(({ aheadLeast }) => aheadLeast));
  const highest = Math.max(0, ...drawn.map(({ aheadMost }) => aheadMost));
  const x = { domain: domainOf(panel), label: `${unit} since the start`, tickSize: 3 };
  return chart({
    width,
    height: AHEAD_HEIGHT,
    marginTop: 24,
    marginBottom: 40,
    x,
    y: {
      domain: [Math.min(-1, lowest * 1.08), Math.max(0.5, highest * 1.08)],
      label: null,
      ticks: 4,
      tickSize: 0,
      grid: true,
    },
    marks: [
      Plot.rect(drawn, {
        x1: "from",
        x2: "to",
        y1: "aheadLeast",
        y2: "aheadMost",
        fill: "var(--stroke)",
        stroke: "var(--stroke)",
        strokeWidth: 0.6,
      }),
      Plot.ruleY([0], { stroke: "var(--ink)" }),
      title("paced strokes less the exact amount, so far: below 0 is underfed, owed and remainder included"),
    ],
  });
}
