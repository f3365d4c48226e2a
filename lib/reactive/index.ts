/**
 * RxJS operators over the pacing core: `contacts$.pipe(pace(settings), strokes())`.
 *
 * @example
 * ```ts
 * const pacer$ = edges$.pipe(pace(settings, { hold$, inhibit$ }), share());
 * pacer$.pipe(strokes()).subscribe(() => pump.stroke());
 * pacer$.pipe(status()).subscribe((status) => display.show(status));
 * ```
 *
 * @module
 */
export { qualifyEdges } from "./edges.js";
export {
  type Controls,
  type InhibitChange,
  type MeterEdge,
  type MeterInput,
  type SettingsChange,
} from "./inputs.js";
export { pace, REENTRANT_MOST } from "./pace.js";
export { effects, type PacerStatus, status, type Stroke, strokes } from "./views.js";
