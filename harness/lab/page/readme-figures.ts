/**
 * Which pictures does README show? Made from the lab's own days, by its own drawing. Harness layer, page.
 */
import * as Plot from "@observablehq/plot";
import { HOUR, MINUTE } from "../../../lib/pacing/index.js";
import { countUpTo } from "../day.js";
import { START_TEXTS, type Texts } from "../fields.js";
import { reckon, type Reckoned } from "../reckon.js";
import { drawCloser } from "./draw/closer.js";
import type { Drawn } from "./draw/day.js";
import { sheetOf } from "./draw/sheet.js";
import { type Canvas, indices, strip, ticks } from "./draw/strip.js";

const WIDTH = 760;

/** The pictures by the names of their files. */
export function readmeFigures(document: Document): { readonly [file: string]: string } {
  const canvas = { document, width: WIDTH };
  return {
    "spread-and-prompt.svg": spreadAndPrompt(canvas),
    "cap-at-peak.svg": capAtPeak(canvas),
    "after-mixing.svg": afterMixing(canvas),
  };
}

function dayOf(texts: Partial<Texts>): Reckoned {
  const reckoned = reckon({ ...START_TEXTS, ...texts }, []);
  if (!reckoned.ok) throw new Error(JSON.stringify(reckoned.faults));
  return reckoned;
}

/** 20 L/min past a meter of 10 L a contact: a contact every half a minute. */
const SLOW: Partial<Texts> = { pattern: "steady", peak: "20 L/min" };
const MINUTES = { fromMicros: HOUR, untilMicros: HOUR + 4 * MINUTE };

function spreadAndPrompt(canvas: Canvas): string {
  const spread = dayOf({ ...SLOW, cadence: "spread" });
  const prompt = dayOf({ ...SLOW, cadence: "prompt" });
  const strips = [
    moments(canvas, {
      title: "Contacts",
      unit: "one for every 10 L",
      micros: spread.contactMicros,
      colour: "var(--water)",
    }),
    moments(canvas, {
      title: "Strokes, 3:2, spread",
      unit: "evenly over the last contact interval",
      micros: spread.strokeMicros,
      colour: "var(--stroke)",
    }),
    moments(canvas, {
      title: "Strokes, 3:2, prompt",
      unit: "as soon as the cap allows",
      micros: prompt.strokeMicros,
      colour: "var(--stroke)",
      hasTimes: true,
    }),
  ];
  return sheetOf(
    strips,
    WIDTH,
    "Contacts, and the strokes of 3:2 for them: spread and prompt. Simulated, invented flow.",
  );
}

interface Moments {
  readonly title: string;
  readonly unit: string;
  readonly micros: Float64Array;
  readonly colour: string;
  readonly hasTimes?: boolean;
}

function moments(canvas: Canvas, { title, unit, micros, colour, hasTimes = false }: Moments): Drawn {
  const { fromMicros, untilMicros } = MINUTES;
  const seen = [...micros.subarray(countUpTo(micros, fromMicros - 1), countUpTo(micros, untilMicros))];
  const marks = [ticks(seen, { from: 0, to: 1, stroke: colour, strokeWidth: 2 })];
  const label = `${title}: ${seen.length} in four minutes.`;
  return {
    id: title,
    title,
    unit,
    plot: strip(canvas, { ...MINUTES, height: 34, y: [0, 1.1], hasTimes, label, marks }),
  };
}

function capAtPeak(canvas: Canvas): string {
  const day = dayOf({ pattern: "school", cap: "6" });
  const look = { fromMicros: 9.5 * HOUR, untilMicros: 10.5 * HOUR };
  return sheetOf(
    drawCloser(canvas, day, look),
    WIDTH,
    "A school break asks for 9 strokes a minute and the cap allows 6: owed grows to its limit, strokes are shed, and the water runs short. Simulated, invented flow.",
  );
}

function afterMixing(canvas: Canvas): string {
  // One contact's water is half of the mixing volume, and earns six strokes.
  const texts: Partial<Texts> = {
    ...SLOW,
    ratio: "6:1",
    "stroke-volume": "0.04 mL",
    "mixing-volume": "20 L",
  };
  const strips = [
    curve(canvas, { title: "After mixing, 6:1, spread", day: dayOf({ ...texts, cadence: "spread" }) }),
    curve(canvas, {
      title: "After mixing, 6:1, prompt",
      day: dayOf({ ...texts, cadence: "prompt" }),
      hasTimes: true,
    }),
  ];
  return sheetOf(
    strips,
    WIDTH,
    "Concentration after an ideal mixing volume: spread keeps it even, prompt lets it swing. Simulated, invented flow.",
  );
}

function curve(
  canvas: Canvas,
  { title, day, hasTimes = false }: { title: string; day: Reckoned; hasTimes?: boolean },
): Drawn {
  const { fromMicros, untilMicros } = MINUTES;
  const { micros, value } = day.mgPerLitre;
  const from = countUpTo(micros, fromMicros) - 1;
  const places = indices({ length: countUpTo(micros, untilMicros) + 1 - from }).map((i) => i + from);
  return {
    id: title,
    title,
    unit: `mg/L, dashed: the ${day.wantedMgPerLitre} wanted`,
    plot: strip(canvas, {
      ...MINUTES,
      height: 76,
      y: [0.8, 1.6],
      yTicks: 4,
      hasTimes,
      label: title,
      marks: [
        Plot.ruleY([day.wantedMgPerLitre], { stroke: "var(--ink)", strokeDasharray: "5 4" }),
        Plot.lineY(places, {
          x: (i: number) => micros[i] as number,
          y: (i: number) => value[i] as number,
          stroke: "var(--mixed)",
          strokeWidth: 1.6,
          clip: true,
        }),
      ],
    }),
  };
}
