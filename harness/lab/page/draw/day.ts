/**
 * What does a whole day look like? Water, strokes, owed, dose error and concentration, one strip each. Page.
 *
 * Bins of a few minutes, each from its lowest to its highest, so that the worst moment shows.
 */
import * as Plot from "@observablehq/plot";
import { DAY } from "../../../../lib/pacing/index.js";
import { BIN_MICROS } from "../../bins.js";
import type { Reckoned } from "../../reckon.js";
import { type Canvas, indices, strip } from "./strip.js";

/** One strip with its title. */
export interface Drawn {
  readonly id: string;
  readonly title: string;
  readonly unit: string;
  readonly plot: Element;
}

const HEIGHT = 48;

export function drawDay(canvas: Canvas, day: Reckoned): Drawn[] {
  const { overview, wantedMgPerLitre } = day;
  return [
    water(canvas, day),
    strokes(canvas, day),
    band(canvas, {
      id: "owed",
      title: "Owed",
      unit: "strokes",
      extremes: overview.owed,
      least: 0,
      most: 4,
      colour: "var(--owed)",
      label: `Strokes owed through the day, at most ${highest(overview.owed.high)}.`,
    }),
    band(canvas, {
      id: "error",
      title: "Dose error",
      unit: "strokes; below 0: short",
      extremes: overview.error,
      least: -2,
      most: 2,
      line: 0,
      colour: "var(--error)",
      label: `Dose error through the day, from ${lowest(overview.error.low).toFixed(1)} to ${highest(overview.error.high).toFixed(1)} strokes.`,
    }),
    band(canvas, {
      id: "mixed",
      title: "After mixing",
      unit: "mg/L, dashed: wanted",
      extremes: overview.mgPerLitre,
      least: 0,
      most: 1.5 * wantedMgPerLitre,
      line: wantedMgPerLitre,
      colour: "var(--mixed)",
      hasTimes: true,
      label: `Concentration after the mixing volume, from ${lowest(overview.mgPerLitre.low).toFixed(2)} to ${highest(overview.mgPerLitre.high).toFixed(2)} mg/L; wanted ${wantedMgPerLitre}.`,
    }),
  ];
}

function water(canvas: Canvas, { stretches }: Reckoned): Drawn {
  const points = stretches.flatMap(({ fromMicros, untilMicros, litresPerMinute }) => [
    [fromMicros, litresPerMinute],
    [untilMicros, litresPerMinute],
  ]);
  const top = highest(points.map(([, flow]) => flow as number));
  return {
    id: "water",
    title: "Water",
    unit: "L/min",
    plot: strip(canvas, {
      ...whole(false),
      y: [0, top * 1.1],
      yTicks: 2,
      label: `Flow of water through the day, at most ${top} litres a minute.`,
      marks: [
        Plot.areaY(points, { x: "0", y1: 0, y2: "1", fill: "var(--water)", fillOpacity: 0.25 }),
        Plot.lineY(points, { x: "0", y: "1", stroke: "var(--water)", strokeWidth: 1.2 }),
      ],
    }),
  };
}

function strokes(canvas: Canvas, { overview, capPerMinute, shed }: Reckoned): Drawn {
  const { strokesPerMinute, primedPerMinute } = overview;
  const top = Math.max(2, highest(strokesPerMinute) * 1.25);
  const isNear = capPerMinute <= top * 1.5;
  const y: [number, number] = [0, isNear ? Math.max(top, capPerMinute * 1.15) : top];
  // One path for all bins: as many bars would be slow to draw.
  const bars = (counts: Float64Array, fill: string, fillOpacity: number): Plot.Markish =>
    Plot.areaY(indices({ length: counts.length + 1 }), {
      x: (i: number) => i * BIN_MICROS,
      y1: 0,
      y2: (i: number) => counts[i] ?? 0,
      curve: "step-after",
      fill,
      fillOpacity,
    });
  // One cross for each bin in which strokes were shed.
  const crosses = [...new Set(shed.map(({ atMicros }) => Math.floor(atMicros / BIN_MICROS)))];
  return {
    id: "strokes",
    title: "Strokes",
    unit: `a minute; ${isNear ? "dashed: " : ""}cap ${capPerMinute}${isNear ? "" : ", far above"}${shed.length > 0 ? "; ×: shed" : ""}`,
    plot: strip(canvas, {
      ...whole(false),
      y,
      yTicks: 2,
      label: `Strokes a minute through the day, at most ${highest(strokesPerMinute).toFixed(1)}; the cap is ${capPerMinute}. Strokes were shed ${shed.length} times.`,
      marks: [
        bars(strokesPerMinute, "var(--stroke)", 0.75),
        bars(primedPerMinute, "var(--primed)", 1),
        isNear ? Plot.ruleY([capPerMinute], { stroke: "var(--ink)", strokeDasharray: "5 4" }) : null,
        Plot.dot(crosses, {
          x: (bin: number) => (bin + 0.5) * BIN_MICROS,
          y: y[1] * 0.93,
          symbol: "times",
          r: 3.2,
          stroke: "var(--alarm)",
          strokeWidth: 1.6,
        }),
      ],
    }),
  };
}

interface Band {
  readonly id: string;
  readonly title: string;
  readonly unit: string;
  readonly extremes: Reckoned["overview"]["owed"];
  /** The axis reaches at least so far down and up. */
  readonly least: number;
  readonly most: number;
  /** What is wanted. */
  readonly line?: number;
  readonly colour: string;
  readonly hasTimes?: boolean;
  readonly label: string;
}

function band(canvas: Canvas, { extremes, colour, ...terms }: Band): Drawn {
  const { low, high } = extremes;
  const y: [number, number] = [
    Math.min(terms.least, lowest(low) * 1.05),
    Math.max(terms.most, highest(high) * 1.1),
  ];
  return {
    id: terms.id,
    title: terms.title,
    unit: terms.unit,
    plot: strip(canvas, {
      ...whole(terms.hasTimes ?? false),
      y,
      yTicks: 2,
      label: terms.label,
      marks: [
        terms.line === undefined
          ? null
          : Plot.ruleY([terms.line], {
              stroke: "var(--ink)",
              strokeDasharray: terms.line === 0 ? "" : "5 4",
            }),
        Plot.areaY(indices(low), {
          x: (i: number) => (i + 0.5) * BIN_MICROS,
          y1: (i: number) => low[i] as number,
          y2: (i: number) => high[i] as number,
          curve: "step",
          fill: colour,
          fillOpacity: 0.55,
          stroke: colour,
          strokeWidth: 1,
        }),
      ],
    }),
  };
}

function whole(hasTimes: boolean): {
  readonly fromMicros: number;
  readonly untilMicros: number;
  readonly height: number;
  readonly hasTimes: boolean;
} {
  return { fromMicros: 0, untilMicros: DAY, height: HEIGHT, hasTimes };
}

export function highest(values: ArrayLike<number>): number {
  return Array.prototype.reduce.call(
    values,
    (most, value) => Math.max(most as number, value as number),
    -Infinity,
  ) as number;
}

export function lowest(values: ArrayLike<number>): number {
  return Array.prototype.reduce.call(
    values,
    (least, value) => Math.min(least as number, value as number),
    Infinity,
  ) as number;
}
