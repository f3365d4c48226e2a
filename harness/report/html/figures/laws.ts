/**
 * How close did each law come to breaking? Its margin as a bar, from the breaking point to all the room there is.
 * Harness layer.
 *
 * Some laws have room by nature (a spacing, a limit, a grace); the bar shows the part of it that was left at the worst
 * moment. Others are exact: kept or not. What was not seen is drawn empty, never as kept.
 */
import * as Plot from "@observablehq/plot";
import type { LawName } from "../../../../lib/laws/index.js";
import type { Settings } from "../../../../lib/pacing/index.js";
import { marginText, whole } from "../../words.js";
import type { JudgedLaw } from "../input.js";
import { chart, type Figure, stacked } from "./canvas.js";

/** All the room that a law gives, in the unit of its margin; undefined for an exact law. */
const ROOM: { readonly [law in LawName]?: (settings: Settings) => number } = {
  proportion: () => 1,
  cap: ({ leastSpacingMicros }) => leastSpacingMicros,
  prime: ({ longestPrimeMicros }) => longestPrimeMicros,
  debt: ({ owedLimitStrokes }) => owedLimitStrokes,
  "still-water": ({ graceMicros }) => graceMicros,
  lateness: ({ leastSpacingMicros }) => leastSpacingMicros,
  bounce: ({ closedMicros, openMicros }) => Math.min(closedMicros, openMicros),
  guard: ({ guardBurstStrokes, guardBudgetStrokes }) =>
    guardBudgetStrokes === 0 ? Infinity : guardBurstStrokes,
};

export type Picture = "room" | "exact" | "broken" | "unseen" | "nothing";

/** One law, ready to be drawn and told. */
export interface Gauge {
  readonly name: string;
  readonly picture: Picture;
  /** Part of the room that was left, 0 to 1. */
  readonly left: number;
  /** The margin in words. */
  readonly says: string;
}

export function gaugeOf(verdict: JudgedLaw, settings: Settings): Gauge {
  const { law, number, answer, margin, unit, checked } = verdict;
  const name = `${number} ${law}`;
  const room = ROOM[law]?.(settings);
  if (answer === "broken") return { name, picture: "broken", left: 0, says: "broken" };
  if (answer !== "holds") return { name, picture: "unseen", left: 0, says: answer };
  if (checked === 0 || margin === null) {
    return {
      name,
      picture: "nothing",
      left: 0,
      says: checked === 0 ? "nothing to look at" : "no margin to measure",
    };
  }
  if (room === undefined || room === 0) {
    return { name, picture: "exact", left: 0, says: `exact, ${whole(checked)} times` };
  }
  const spare = unit === "µs" ? marginText(margin, unit) : marginText(Math.round(10 * margin) / 10, unit);
  // Looked at under settings of its own: how much room there was is not known here.
  if (room === Infinity) return { name, picture: "nothing", left: 0, says: `${spare} to spare` };
  if (margin === 0) return { name, picture: "room", left: 0, says: "used to the full, as allowed" };
  const most =
    margin > room
      ? `${spare} to spare`
      : `${unit === "µs" ? spare : whole(Math.round(10 * margin) / 10)} of ${marginText(room, unit)} to spare`;
  return { name, picture: "room", left: Math.min(1, margin / room), says: most };
}

const BREAKS_AT = 0;
const DOMAIN: [number, number] = [-0.16, 1.02];

function marks(gauges: readonly Gauge[], id: string): Plot.Markish[] {
  const of = (...pictures: Picture[]): Gauge[] => gauges.filter(({ picture }) => pictures.includes(picture));
  return [
    Plot.barX(gauges, { x1: BREAKS_AT, x2: 1, y: "name", fill: "var(--raised)", stroke: "var(--line)" }),
    Plot.barX(of("room"), { x1: BREAKS_AT, x2: "left", y: "name", fill: "var(--good)" }),
    Plot.barX(of("broken"), {
      x1: DOMAIN[0],
      x2: BREAKS_AT,
      y: "name",
      fill: `url(#${id}-bad)`,
      stroke: "var(--bad)",
    }),
    Plot.tickX(gauges, { x: () => BREAKS_AT, y: "name", stroke: "var(--ink)", strokeWidth: 2 }),
    Plot.dot(of("exact"), {
      x: () => BREAKS_AT,
      y: "name",
      symbol: "diamond",
      r: 6,
      fill: "var(--good)",
      stroke: "var(--paper)",
    }),
    Plot.text(of("exact"), {
      x: () => 0.05,
      y: "name",
      text: () => "exact: kept or not",
      textAnchor: "start",
      fill: "var(--muted)",
      fontSize: 10,
    }),
    Plot.text(of("unseen", "nothing"), {
      x: () => 0.05,
      y: "name",
      text: ({ picture }: Gauge) => (picture === "unseen" ? "? not seen" : "no room to compare"),
      textAnchor: "start",
      fill: "var(--muted)",
      fontSize: 10,
    }),
  ];
}

/** One law's bar, to stand beside its words. */
export function gaugeSvg(gauge: Gauge, id: string): string {
  const height = 22;
  const svg = chart({
    width: 200,
    height,
    margin: 2,
    marginLeft: 2,
    marginRight: 2,
    x: { domain: DOMAIN, axis: null },
    y: { domain: [gauge.name], axis: null, type: "band", padding: 0.12 },
    marks: marks([gauge], id),
  });
  return stacked(id, 200, [{ svg, height }]).replace(/^<svg/, '<svg aria-hidden="true"');
}

/** All laws in one drawing. */
export function lawsFigure(gauges: readonly Gauge[], width: number): Figure {
  const id = "laws";
  const height = gauges.length * 24 + 30;
  const svg = chart({
    width,
    height,
    marginTop: 24,
    marginBottom: 6,
    marginLeft: 104,
    marginRight: 190,
    x: { domain: DOMAIN, axis: null },
    y: { domain: gauges.map(({ name }) => name), label: null, tickSize: 0, padding: 0.28 },
    marks: [
      ...marks(gauges, id),
      Plot.text(gauges, {
        x: () => DOMAIN[1],
        y: "name",
        text: "says",
        textAnchor: "start",
        dx: 6,
        fill: "var(--ink)",
      }),
      Plot.text(["breaks here"], { x: BREAKS_AT, frameAnchor: "top", dy: -14, fill: "var(--muted)" }),
      Plot.text(["all room left"], {
        x: 1,
        frameAnchor: "top",
        dy: -14,
        textAnchor: "end",
        fill: "var(--muted)",
      }),
    ],
  });
  return {
    id,
    title: "The laws and their margins",
    alt: gauges.map(({ name, says }) => `${name}: ${says}`).join("; ") + ".",
    svg: stacked(id, width, [{ svg, height }]),
  };
}
