/**
 * How is one strip of a figure drawn? A low, wide plot of something over time; strips stand on one time axis.
 *
 * Harness layer, page. All figures of the lab and of README are made of strips, by one charting library. Colours are
 * names that the page, or the file, gives a value to; nothing is told by colour alone.
 */
import * as Plot from "@observablehq/plot";
import { DAY, HOUR, type Micros, MINUTE, SECOND } from "../../../../lib/pacing/index.js";

/** What there is to draw on: the page's document, or one outside a browser. */
export interface Canvas {
  readonly document: Document;
  /** Width of the whole strip, pixels. */
  readonly width: number;
}

export interface StripTerms {
  readonly fromMicros: Micros;
  readonly untilMicros: Micros;
  readonly height: number;
  /** Lowest and highest value. */
  readonly y: readonly [number, number];
  readonly yTicks?: number | readonly number[];
  /** The last strip of a figure has the times below it. */
  readonly hasTimes: boolean;
  /** What it shows, for those who do not see it. */
  readonly label: string;
  readonly marks: readonly Plot.Markish[];
}

export const MARGIN_LEFT = 46;
export const MARGIN_RIGHT = 26;
const TIMES_HEIGHT = 22;

/** Draws a strip. */
export function strip({ document, width }: Canvas, terms: StripTerms): Element {
  const { fromMicros, untilMicros, hasTimes, y } = terms;
  const ticks = ticksBetween(fromMicros, untilMicros, width);
  const plot = Plot.plot({
    document,
    width,
    height: terms.height + (hasTimes ? TIMES_HEIGHT : 0),
    marginLeft: MARGIN_LEFT,
    marginRight: MARGIN_RIGHT,
    marginTop: 6,
    marginBottom: hasTimes ? TIMES_HEIGHT + 2 : 4,
    ariaLabel: terms.label,
    style: { background: "none", color: "var(--muted)", overflow: "hidden" },
    x: { type: "linear", domain: [fromMicros, untilMicros], axis: null, clamp: false },
    y: { type: "linear", domain: [...y], axis: null },
    marks: [
      Plot.gridX(ticks, { stroke: "var(--rule)", strokeOpacity: 1 }),
      Plot.ruleY([y[0]], { stroke: "var(--rule)" }),
      ...terms.marks,
      terms.yTicks === undefined
        ? null
        : Plot.axisY(typeof terms.yTicks === "number" ? niceTicks(y, terms.yTicks) : terms.yTicks, {
            tickSize: 0,
            tickPadding: 6,
            label: null,
            tickFormat: short,
          }),
      hasTimes
        ? Plot.axisX(ticks, {
            tickSize: 4,
            label: null,
            tickFormat: (micros: number) => timeText(micros, untilMicros - fromMicros),
          })
        : null,
    ],
  });
  plot.setAttribute("role", "img");
  // The whole has a name; the library's names of its marks would be read out beside it.
  for (const mark of plot.querySelectorAll("g[aria-label]")) mark.removeAttribute("aria-label");
  return plot;
}

/** A rising line of values that hold until the next, as one path; NaN breaks it. */
export function steps(micros: ArrayLike<number>, value: ArrayLike<number>, stroke: string): Plot.Markish {
  return Plot.lineY(indices(micros), {
    x: (i: number) => micros[i] as number,
    y: (i: number) => value[i] as number,
    curve: "step-after",
    stroke,
    strokeWidth: 1.4,
  });
}

/** Many short upright lines as one path: a moment each, from `from` to `to`. */
export function ticks(
  micros: readonly number[],
  terms: {
    readonly from: number;
    readonly to: number;
    readonly stroke: string;
    readonly strokeWidth?: number;
    readonly strokeDasharray?: string;
  },
): Plot.Markish {
  const { from, to, ...style } = terms;
  const points = micros.flatMap((at) => [
    [at, from],
    [at, to],
    [at, Number.NaN],
  ]);
  return Plot.line(points, { ...style, strokeLinecap: "butt" });
}

export function indices(list: ArrayLike<unknown>): number[] {
  return Array.from({ length: list.length }, (_, i) => i);
}

/** Round values from the lowest to the highest, about so many. */
function niceTicks([low, high]: readonly [number, number], count: number): number[] {
  const rough = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5, 10].find((times) => times * power >= rough) ?? 10);
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, i) => (first + i) * step);
}

function short(value: number): string {
  const text = String(Number(value.toPrecision(4)));
  return text.replace("-", "−");
}

const TICK_STEPS: readonly Micros[] = [
  10 * SECOND,
  20 * SECOND,
  MINUTE,
  2 * MINUTE,
  5 * MINUTE,
  10 * MINUTE,
  20 * MINUTE,
  HOUR,
  3 * HOUR,
  6 * HOUR,
];
/** Least room for a time below the axis, pixels. */
const TICK_ROOM = 62;

function ticksBetween(fromMicros: Micros, untilMicros: Micros, width: number): Micros[] {
  const most = Math.max(2, Math.floor((width - MARGIN_LEFT) / TICK_ROOM));
  const span = untilMicros - fromMicros;
  const step = TICK_STEPS.find((one) => span / one <= most) ?? 6 * HOUR;
  const first = Math.ceil(fromMicros / step);
  return Array.from({ length: Math.floor(untilMicros / step) - first + 1 }, (_, i) => (first + i) * step);
}

function timeText(micros: Micros, span: Micros): string {
  const two = (value: number): string => String(Math.floor(value)).padStart(2, "0");
  const hourAndMinute = `${two(micros / HOUR)}:${two((micros % HOUR) / MINUTE)}`;
  if (span === DAY) return hourAndMinute;
  return span > 5 * MINUTE ? hourAndMinute : `${hourAndMinute}:${two((micros % MINUTE) / SECOND)}`;
}
