/**
 * Which edges of a meter's contact make a contact? Reactive layer.
 *
 * Asks the pacing core itself: a pacer on hold makes no stroke and owes none, but qualifies closures all the same.
 */
import { filter, map, of, type OperatorFunction, type SchedulerLike } from "rxjs";
import type { Settings } from "../pacing/index.js";
import type { MeterEdge } from "./inputs.js";
import { pace } from "./pace.js";
import { effects } from "./views.js";

/**
 * Turns raw edges into contacts, each emitted once its closure has stayed closed long enough.
 *
 * Uses `closedMicros`, `openMicros` and `leastContactMicros`; closures that are bounce, or come too fast, are left
 * out. Completes once the last closure has qualified or opened. Qualify once and share, where several pumps hang on
 * one meter, and leave `leastContactMicros` of their pacers at 0: timers may deliver a contact a little late.
 */
export function qualifyEdges(
  settings: Settings,
  scheduler?: SchedulerLike,
): OperatorFunction<MeterEdge, "contact"> {
  return (edge$) =>
    edge$.pipe(
      pace(settings, { hold$: of(true) }, scheduler),
      effects(),
      // What a hold ignores has qualified; a step qualifies at most one closure.
      filter(({ kind }) => kind === "ignored"),
      map(() => "contact" as const),
    );
}
