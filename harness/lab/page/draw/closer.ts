/**
 * What happens, contact by contact and stroke by stroke? A closer look at minutes of the day. Page.
 */
import * as Plot from "@observablehq/plot";
import type { Micros } from "../../../../lib/pacing/index.js";
import { countUpTo, straightAt, type Track, valueAt } from "../../day.js";
import type { Reckoned } from "../../reckon.js";
import { type Drawn, highest, lowest } from "./day.js";
import { type Canvas, indices, steps, strip, ticks } from "./strip.js";

export interface Look {
  readonly fromMicros: Micros;
  readonly untilMicros: Micros;
}

/** Past so many marks each is drawn as a hairline. */
const CLOSE_MARKS = 160;
/** Places for the crosses of shed strokes: one for all that would overlap. */
const CROSSES_MOST = 80;

export function drawCloser(canvas: Canvas, day: Reckoned, look: Look): Drawn[] {
  const { wantedMgPerLitre } = day;
  const owed = within(day.owed, look);
  const error = within(day.error, look);
  const mixed = within(day.mgPerLitre, look, straightAt);
  return [
    moments(canvas, day, look),
    {
      id: "close-owed",
      title: "Owed",
      unit: "strokes",
      plot: strip(canvas, {
        ...look,
        height: 46,
        hasTimes: false,
        y: [0, Math.max(3.2, highest(owed.value) * 1.15)],
        yTicks: 2,
        label: `Strokes owed, at most ${highest(owed.value)} in this stretch.`,
        marks: [
          Plot.areaY(indices(owed.micros), {
            x: (i: number) => owed.micros[i] as number,
            y1: 0,
            y2: (i: number) => owed.value[i] as number,
            curve: "step-after",
            fill: "var(--owed)",
            fillOpacity: 0.22,
          }),
          steps(owed.micros, owed.value, "var(--owed)"),
        ],
      }),
    },
    {
      id: "close-error",
      title: "Dose error",
      unit: "strokes",
      plot: strip(canvas, {
        ...look,
        height: 56,
        hasTimes: false,
        y: spread(error.value, -1.6, 1.1),
        yTicks: 3,
        label: `Dose error, from ${lowest(error.value).toFixed(2)} to ${highest(error.value).toFixed(2)} strokes in this stretch.`,
        marks: [Plot.ruleY([0], { stroke: "var(--ink)" }), steps(error.micros, error.value, "var(--error)")],
      }),
    },
    {
      id: "close-mixed",
      title: "After mixing",
      unit: "mg/L, dashed: wanted",
      plot: strip(canvas, {
        ...look,
        height: 70,
        hasTimes: true,
        y: spread(mixed.value, wantedMgPerLitre * 0.7, wantedMgPerLitre * 1.3),
        yTicks: 3,
        label: `Concentration after the mixing volume, from ${lowest(mixed.value).toFixed(2)} to ${highest(mixed.value).toFixed(2)} mg/L in this stretch; wanted ${wantedMgPerLitre}.`,
        marks: [
          Plot.ruleY([wantedMgPerLitre], { stroke: "var(--ink)", strokeDasharray: "5 4" }),
          Plot.lineY(indices(mixed.micros), {
            x: (i: number) => mixed.micros[i] as number,
            y: (i: number) => mixed.value[i] as number,
            stroke: "var(--mixed)",
            strokeWidth: 1.6,
          }),
        ],
      }),
    },
  ];
}

/** Contacts above, strokes below; primed strokes are dashed, and start lower. */
function moments(canvas: Canvas, day: Reckoned, look: Look): Drawn {
  const { contactMicros, strokeMicros, strokePrimed, shed } = day;
  const from = countUpTo(strokeMicros, look.fromMicros - 1);
  const until = countUpTo(strokeMicros, look.untilMicros);
  const contacts = [
    ...contactMicros.subarray(
      countUpTo(contactMicros, look.fromMicros - 1),
      countUpTo(contactMicros, look.untilMicros),
    ),
  ];
  const paced: number[] = [];
  const primed: number[] = [];
  for (let i = from; i < until; i++) {
    (strokePrimed[i] === 1 ? primed : paced).push(strokeMicros[i] as number);
  }
  const each = (look.untilMicros - look.fromMicros) / CROSSES_MOST;
  const gone = shed
    .filter(
      ({ atMicros }, i) => Math.floor(atMicros / each) !== Math.floor((shed[i - 1]?.atMicros ?? -1) / each),
    )
    .filter(({ atMicros }) => atMicros >= look.fromMicros && atMicros <= look.untilMicros);
  const width = (marks: readonly number[]): number => (marks.length > CLOSE_MARKS ? 0.7 : 1.8);
  return {
    id: "moments",
    title: "Contacts and strokes",
    unit: `${contacts.length} and ${paced.length}${primed.length > 0 ? `, and ${primed.length} primed (dashed)` : ""}${gone.length > 0 ? "; ×: shed" : ""}`,
    plot: strip(canvas, {
      ...look,
      height: 68,
      hasTimes: false,
      y: [0, 2.2],
      label: `${contacts.length} contacts, ${paced.length} paced strokes and ${primed.length} primed strokes in this stretch.`,
      marks: [
        Plot.text(
          [
            ["contacts", 1.65],
            ["strokes", 0.55],
          ],
          {
            x: () => look.fromMicros,
            y: "1",
            text: "0",
            dx: -6,
            textAnchor: "end",
            fill: "var(--muted)",
            fontSize: 9.5,
          },
        ),
        ticks(contacts, { from: 1.25, to: 2.05, stroke: "var(--water)", strokeWidth: width(contacts) }),
        ticks(paced, { from: 0.12, to: 0.92, stroke: "var(--stroke)", strokeWidth: width(paced) }),
        ticks(primed, {
          from: 0.0,
          to: 1.05,
          stroke: "var(--primed)",
          strokeWidth: width(primed) + 0.2,
          strokeDasharray: "4 2",
        }),
        Plot.dot(gone, {
          x: "atMicros",
          y: 0.52,
          symbol: "times",
          r: 5,
          stroke: "var(--alarm)",
          strokeWidth: 2,
        }),
      ],
    }),
  };
}

/** The part of a track that is looked at, with what it comes in with and goes out with. */
function within(
  track: Track,
  { fromMicros, untilMicros }: Look,
  read: (track: Track, atMicros: Micros) => number = valueAt,
): { micros: number[]; value: number[] } {
  const { micros, value } = track;
  const from = countUpTo(micros, fromMicros);
  const until = countUpTo(micros, untilMicros);
  return {
    micros: [fromMicros, ...micros.subarray(from, until), untilMicros],
    value: [read(track, fromMicros), ...value.subarray(from, until), read(track, untilMicros)],
  };
}

function spread(values: readonly number[], least: number, most: number): [number, number] {
  const [low, high] = [Math.min(least, lowest(values)), Math.max(most, highest(values))];
  const room = (high - low) * 0.05;
  return [low < least ? low - room : low, high > most ? high + room : high];
}
