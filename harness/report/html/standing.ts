/**
 * Which modes and alarms stand just now? As bits over the list of what can stand. Harness layer.
 */
import type { StimulusEvent, TraceEvent } from "../../../lib/trace/index.js";
import { type Standing, STANDING } from "./series.js";

export interface StandingNow {
  /** Bits over {@link STANDING}. */
  readonly mask: () => number;
  /** True where the event turned something on or off, or might have. */
  see(event: TraceEvent): boolean;
}

export function newStanding(): StandingNow {
  let mask = 0;
  const causes = new Set<string>();
  const set = (name: Standing, on: boolean): void => {
    const bit = 1 << STANDING.indexOf(name);
    mask = on ? mask | bit : mask & ~bit;
  };
  return {
    mask: () => mask,
    see(event) {
      if (event.kind === "alarm-on" || event.kind === "alarm-off") {
        set(event.alarm, event.kind === "alarm-on");
        return true;
      }
      if (event.kind === "inhibit-on") causes.add(event.cause);
      if (event.kind === "inhibit-off") causes.delete(event.cause);
      const turned = TURNS[event.kind as StimulusEvent["kind"]];
      if (turned === undefined) return false;
      set(turned[0], turned[0] === "inhibit" ? causes.size > 0 : turned[1]);
      return true;
    },
  };
}

/** Which mode a stimulus turns on or off. */
const TURNS: { readonly [kind in StimulusEvent["kind"]]?: readonly [mode: Standing, on: boolean] } = {
  "prime-on": ["prime", true],
  "prime-off": ["prime", false],
  "hold-on": ["hold", true],
  "hold-off": ["hold", false],
  "inhibit-on": ["inhibit", true],
  "inhibit-off": ["inhibit", false],
  "power-off": ["dark", true],
  "power-on": ["dark", false],
};
