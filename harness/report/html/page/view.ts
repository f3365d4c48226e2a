/**
 * Which stretch of the run is shown? One view for all rows, kept within the run. Runs in the page.
 */
import type { View } from "../columns.js";
import type { PageData } from "../page-data.js";

/** Shortest stretch, in buckets, and µs. */
const BUCKETS_LEAST = 8;
const MICROS_LEAST = 1_000;

export interface ViewOf {
  readonly now: () => View;
  /** Shows a stretch, or as much of it as the run has. */
  show(view: View): void;
  /** Moves by a part of what is shown; later is positive. */
  move(part: number): void;
  /** Shows `times` as long a stretch, around a moment or the middle. */
  zoom(times: number, aroundMicros?: number): void;
  readonly whole: () => void;
  onChange(act: (view: View) => void): void;
}

export function newView({ whole, run }: PageData): ViewOf {
  const leastMicros = Math.max(MICROS_LEAST, BUCKETS_LEAST * run.widthMicros);
  const acts: ((view: View) => void)[] = [];
  let now = whole;

  const show = ({ fromMicros, toMicros }: View): void => {
    const longest = whole.toMicros - whole.fromMicros;
    const length = Math.min(longest, Math.max(leastMicros, toMicros - fromMicros));
    const middle = (fromMicros + toMicros) / 2;
    const from = Math.min(whole.toMicros - length, Math.max(whole.fromMicros, middle - length / 2));
    now = { fromMicros: from, toMicros: from + length };
    for (const act of acts) act(now);
  };
  return {
    now: () => now,
    show,
    move(part) {
      const by = (now.toMicros - now.fromMicros) * part;
      show({ fromMicros: now.fromMicros + by, toMicros: now.toMicros + by });
    },
    zoom(times, aroundMicros = (now.fromMicros + now.toMicros) / 2) {
      show({
        fromMicros: aroundMicros - (aroundMicros - now.fromMicros) * times,
        toMicros: aroundMicros + (now.toMicros - aroundMicros) * times,
      });
    },
    whole() {
      show(whole);
    },
    onChange(act) {
      acts.push(act);
    },
  };
}
