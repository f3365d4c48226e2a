/**
 * In what order do the inputs of one microsecond act? Trace layer.
 */
import { type InputKind, instantOrder, type Micros } from "../pacing/index.js";
import type { StimulusEvent } from "./event.js";

/** Most inputs that are sorted within one instant; past that they act as they come. */
const INSTANT_MOST = 4_096;

/** Sorts a stimulus, stably, within each instant, and hands it on one event at a time. */
export interface InstantSorter {
  take(event: StimulusEvent): void;
  /** Hands on what is still kept of the last instant. */
  end(): void;
}

/**
 * Puts inputs of the same microsecond into the documented order of `instantOrder` (power-off first of all, power-on
 * after it) before they reach a device.
 */
export function instantSorter(handOn: (event: StimulusEvent) => void): InstantSorter {
  let kept: StimulusEvent[] = [];
  let keptMicros: Micros = -1;
  const flush = (): void => {
    if (kept.length > 1) kept.sort((a, b) => orderOf(a) - orderOf(b));
    for (const event of kept) handOn(event);
    kept = [];
  };
  return {
    take(event) {
      if (event.atMicros !== keptMicros || kept.length >= INSTANT_MOST) flush();
      keptMicros = event.atMicros;
      kept.push(event);
    },
    end: flush,
  };
}

function orderOf({ kind }: StimulusEvent): number {
  if (kind === "power-off") return -2;
  if (kind === "power-on") return -1;
  return instantOrder(kind satisfies InputKind);
}
