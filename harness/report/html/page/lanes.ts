/**
 * What stood when? A lane for each mode and alarm that there was, above the time axis. Runs in the page.
 */
import { stretchesOf } from "../columns.js";
import type { PageData } from "../page-data.js";
import { MODES, STANDING } from "../series.js";
import type { RowOf } from "./value-rows.js";

/** CSS px. */
export const LANE_HEIGHT = 18;

export function lanesOf({ run, whole }: PageData): { readonly row: RowOf; readonly count: number } {
  const lanes = STANDING.map((name, i) => ({
    name,
    look: i < MODES ? ("mode" as const) : ("alarm" as const),
    stretches: stretchesOf(run, 1 << i, whole),
  })).filter(({ stretches }) => stretches.length > 0);
  const each = 1 / Math.max(1, lanes.length);
  const row: RowOf = {
    name: "standing",
    title: () => (lanes.length === 0 ? "" : "modes (hatched) and alarms (solid)"),
    top: () => 1,
    draw(brush, view) {
      lanes.forEach(({ name, look, stretches }, i) => {
        for (const stretch of stretches) {
          if (stretch.toMicros < view.fromMicros || stretch.fromMicros > view.toMicros) continue;
          brush.lane(stretch, [(i + 0.12) * each, (i + 0.88) * each], look);
        }
        brush.label(name, (i + 0.5) * each);
      });
    },
  };
  return { row, count: lanes.length };
}
