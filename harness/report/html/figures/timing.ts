/**
 * What happened, event by event? A stretch of a trace as a timing diagram: a lane for each kind of thing. Harness layer.
 */
import * as Plot from "@observablehq/plot";
import type { Micros } from "../../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../../lib/trace/index.js";
import { tickLabel, timeTicks } from "../time-axis.js";
import { type Bar, type Drawing, type Mark, readEvents } from "./timing-events.js";
import { chart, type Figure, MARGIN_RIGHT, stacked } from "./canvas.js";

const LANE_HEIGHT = 30;
const OWED_HEIGHT = 86;
const MARGIN_LEFT = 96;

/** Lanes from top to bottom; those in which nothing happens are left out. */
const LANES = [
  "line",
  "contacts",
  "paced",
  "primed",
  "shed",
  "settings",
  "prime",
  "hold",
  "inhibit",
  "dark",
  "fault",
];

export interface TimingOf {
  readonly id: string;
  readonly title: string;
  readonly events: readonly TraceEvent[];
  /** The moment that it is all about. */
  readonly momentMicros?: Micros | undefined;
  readonly momentSays?: string | undefined;
}

export function timingFigure(
  { id, title, events, momentMicros, momentSays }: TimingOf,
  width: number,
): Figure {
  const [fromMicros, toMicros] = extent(events);
  const room = Math.max(1, (toMicros - fromMicros) * 0.03);
  const domain: [Micros, Micros] = [fromMicros - room, toMicros + room];
  const drawing = readEvents(events, domain);
  const alarms = [...new Set(drawing.bars.filter(({ look }) => look === "alarm").map(({ lane }) => lane))];
  const used = new Set([...drawing.marks, ...drawing.bars].map(({ lane }) => lane));
  const lanes = [...LANES.filter((lane) => used.has(lane)), ...alarms];
  const moment =
    momentMicros === undefined
      ? []
      : [Plot.ruleX([momentMicros], { stroke: "var(--bad)", strokeWidth: 1.5, strokeDasharray: "2 3" })];
  const owed = owedChart(drawing.owed, domain, width, moment);
  const inLanes = laneChart({
    id,
    lanes,
    domain,
    width,
    ...drawing,
    moment,
    momentMicros,
    momentSays,
    axis: owed === undefined,
  });
  return {
    id,
    title,
    alt: altOf(events, drawing, momentSays),
    svg: stacked(id, width, [inLanes, ...(owed ? [owed] : [])]),
  };
}

function extent(events: readonly TraceEvent[]): [Micros, Micros] {
  return [events[0]?.atMicros ?? 0, events.at(-1)?.atMicros ?? 1];
}

interface LaneTerms extends Drawing {
  readonly id: string;
  readonly lanes: readonly string[];
  readonly domain: [Micros, Micros];
  readonly width: number;
  readonly moment: Plot.Markish[];
  readonly momentMicros: Micros | undefined;
  readonly momentSays: string | undefined;
  readonly axis: boolean;
}

function laneChart(terms: LaneTerms): { readonly svg: string; readonly height: number } {
  const { id, lanes, domain, width, marks, bars, moment, momentMicros, momentSays, axis } = terms;
  const top = momentSays === undefined ? 8 : 22;
  const height = lanes.length * LANE_HEIGHT + top + (axis ? 30 : 8);
  const looks = (look: Mark["look"]): Mark[] => marks.filter((mark) => mark.look === look);
  const fills = { closed: "var(--muted)", mode: `url(#${id}-prime)`, alarm: "var(--bad)" };
  const svg = chart({
    width,
    height,
    marginTop: top,
    marginBottom: axis ? 30 : 8,
    marginLeft: MARGIN_LEFT,
    x: axis ? axisOf(domain, width) : { domain, axis: null },
    y: { domain: [...lanes], label: null, tickSize: 0, padding: 0.34 },
    marks: [
      Plot.ruleY(lanes, { stroke: "var(--line)" }),
      ...moment,
      Plot.barX(bars, {
        x1: "fromMicros",
        x2: "toMicros",
        y: "lane",
        fill: (bar: Bar) => fills[bar.look],
        stroke: "var(--ink)",
        strokeWidth: 0.6,
      }),
      Plot.tickX(looks("tick"), { x: "atMicros", y: "lane", strokeWidth: 2, stroke: colourOf }),
      Plot.dot(looks("hollow"), {
        x: "atMicros",
        y: "lane",
        r: 4,
        stroke: "var(--ink)",
        fill: "var(--paper)",
      }),
      Plot.dot(looks("cross"), {
        x: "atMicros",
        y: "lane",
        r: 4.5,
        symbol: "times",
        stroke: "var(--bad)",
        strokeWidth: 2,
      }),
      Plot.text(sparse(marks, domain, width), {
        x: "atMicros",
        y: "lane",
        text: "text",
        dy: -13,
        fontSize: 9.5,
        fill: "var(--ink)",
      }),
      ...(momentSays === undefined
        ? []
        : [
            Plot.text([momentSays], {
              x: momentMicros ?? 0,
              frameAnchor: "top",
              dy: -14,
              fill: "var(--bad)",
              fontWeight: 600,
              textAnchor: anchorAt(momentMicros ?? 0, domain),
            }),
          ]),
    ],
  });
  return { svg, height };
}

/** Texts that would run into the one before are left out. */
function sparse(marks: readonly Mark[], [from, to]: [Micros, Micros], width: number): Mark[] {
  const pixel = (to - from) / Math.max(1, width - MARGIN_LEFT - MARGIN_RIGHT);
  const ends = new Map<string, Micros>();
  return marks.filter(({ lane, atMicros, text }) => {
    if (text === "") return false;
    const half = text.length * 3 * pixel;
    if (atMicros - half < (ends.get(lane) ?? -Infinity)) return false;
    ends.set(lane, atMicros + half);
    return true;
  });
}

function anchorAt(at: Micros, [from, to]: [Micros, Micros]): "start" | "middle" | "end" {
  const part = (at - from) / (to - from);
  if (part < 0.3) return "start";
  return part > 0.7 ? "end" : "middle";
}

function colourOf({ lane }: Mark): string {
  if (lane === "contacts") return "var(--water)";
  return lane === "primed" ? "var(--prime)" : "var(--stroke)";
}

function owedChart(
  owed: Drawing["owed"],
  domain: [Micros, Micros],
  width: number,
  moment: Plot.Markish[],
): { readonly svg: string; readonly height: number } | undefined {
  const last = owed.at(-1);
  if (last === undefined) return undefined;
  const svg = chart({
    width,
    height: OWED_HEIGHT,
    marginTop: 8,
    marginBottom: 30,
    marginLeft: MARGIN_LEFT,
    x: axisOf(domain, width),
    y: {
      domain: [0, Math.max(1, ...owed.map((one) => one.owed)) * 1.1],
      ticks: 3,
      tickSize: 0,
      label: null,
      grid: true,
    },
    marks: [
      Plot.areaY([...owed, { ...last, atMicros: domain[1] }], {
        x: "atMicros",
        y1: 0,
        y2: "owed",
        curve: "step-after",
        fill: "var(--owed)",
        fillOpacity: 0.25,
      }),
      Plot.line([...owed, { ...last, atMicros: domain[1] }], {
        x: "atMicros",
        y: "owed",
        curve: "step-after",
        stroke: "var(--owed)",
      }),
      ...moment,
      Plot.text(["owed"], {
        frameAnchor: "left",
        dx: -MARGIN_LEFT + 40,
        textAnchor: "start",
        fill: "var(--ink)",
      }),
    ],
  });
  return { svg, height: OWED_HEIGHT };
}

function axisOf(domain: [Micros, Micros], width: number): Plot.ScaleOptions {
  const { ticks, stepMicros } = timeTicks(domain[0], domain[1], Math.max(2, Math.floor(width / 110)));
  return { domain, ticks, tickFormat: (at: number) => tickLabel(at, stepMicros), label: null };
}

function altOf(events: readonly TraceEvent[], { marks }: Drawing, momentSays: string | undefined): string {
  const count = (lane: string): number => marks.filter((mark) => mark.lane === lane).length;
  return (
    `${events.length} events, with ${count("contacts")} contacts, ${count("paced")} paced and ${count("primed")} primed strokes` +
    (momentSays === undefined ? "." : `. Marked: ${momentSays}.`)
  );
}
