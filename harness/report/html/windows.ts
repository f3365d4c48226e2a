/**
 * What exactly happened around the worst moments? A short stretch of the trace, event by event. Harness layer.
 *
 * The last events are always at hand; when a moment is the worst so far, they are set aside, and the next ones are
 * added. So memory is bounded, and however much of a run is merged away, its worst moments can be drawn exactly.
 */
import type { TraceEvent } from "../../../lib/trace/index.js";

/** Events that are kept from before a moment (with the moment itself), and from after it. */
export const EVENTS_BEFORE = 40;
export const EVENTS_AFTER = 24;

export interface Windows {
  see(event: TraceEvent): void;
  /** The event that was just seen is the moment `id` is about, from now on. */
  readonly mark: (id: string) => void;
  readonly kept: () => ReadonlyMap<string, readonly TraceEvent[]>;
}

export function newWindows(): Windows {
  const recent: TraceEvent[] = [];
  let next = 0;
  const kept = new Map<string, TraceEvent[]>();
  const open = new Map<string, number>();
  return {
    see(event) {
      recent[next] = event;
      next = (next + 1) % EVENTS_BEFORE;
      if (open.size === 0) return;
      for (const [id, left] of open) {
        kept.get(id)?.push(event);
        if (left === 1) open.delete(id);
        else open.set(id, left - 1);
      }
    },
    mark(id) {
      kept.set(id, [...recent.slice(next), ...recent.slice(0, next)]);
      open.set(id, EVENTS_AFTER);
    },
    kept: () => kept,
  };
}
