/**
 * Which stretches of the trace are drawn event by event? Those around the worst moments. Harness layer.
 */
import type { Micros, Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import { many, span } from "../words.js";
import type { Figure } from "./figures/canvas.js";
import { timingFigure } from "./figures/timing.js";
import type { ReportInput } from "./input.js";

/** One drawing a moment; fewer where nothing was owed, spaced or alarmed. */
export function windowFigures({ report, drawn }: ReportInput, width: number): Figure[] {
  const { inForce } = report;
  const { mostOwed, leastSpacing, windows } = drawn;
  const alarm = firstAlarm(windows.get("first-alarm"));
  const moments: [id: string, title: string, atMicros: Micros | undefined, says: string][] = [
    ["most-owed", "Where most was owed", mostOwed?.atMicros, `${many(mostOwed?.value ?? 0, "stroke")} owed`],
    [
      "least-spacing",
      "Where two strokes were closest",
      leastSpacing?.atMicros,
      `${span(leastSpacing?.value ?? 0)} after the one before`,
    ],
    ["first-alarm", "Where the first alarm was raised", alarm?.atMicros, `alarm ${alarm?.alarm ?? ""}`],
  ];
  return moments.flatMap(([id, title, atMicros, says]) => {
    const events = windows.get(id);
    if (events === undefined || atMicros === undefined) return [];
    const near = nearby(events, atMicros, inForce);
    return [timingFigure({ id, title, events: near, momentMicros: atMicros, momentSays: says }, width)];
  });
}

function firstAlarm(
  events: readonly TraceEvent[] = [],
): { readonly atMicros: Micros; readonly alarm: string } | undefined {
  for (const event of events) if (event.kind === "alarm-on") return event;
  return undefined;
}

/** The events around a moment, up to a silence in which all that was owed is over: longer than the grace. */
function nearby(
  events: readonly TraceEvent[],
  atMicros: Micros,
  { graceMicros }: Settings,
): readonly TraceEvent[] {
  const at = events.findIndex((event) => event.atMicros >= atMicros);
  const gap = (i: number): number => (events[i]?.atMicros ?? 0) - (events[i - 1]?.atMicros ?? 0);
  let from = Math.max(0, at);
  while (from > 0 && gap(from) <= graceMicros) from -= 1;
  let to = Math.max(0, at) + 1;
  while (to < events.length && gap(to) <= graceMicros) to += 1;
  return events.slice(from, to);
}
