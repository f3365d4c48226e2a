/**
 * How can a stimulus be varied so that laws 9, 10, 12 and 13 show? Laws layer.
 *
 * Each takes where the varied stimulus goes and gives where the plain one is put in, one event at a time. Deterministic:
 * what looks random comes from the times themselves.
 */
import type { Micros, Settings } from "../pacing/index.js";
import type { StimulusEvent } from "../trace/index.js";

export type Give = (event: StimulusEvent) => void;

/** Adds wake-ups that nobody asked for: between any two events, and at their very moments. */
export function withExtraWakes(give: Give): Give {
  let lastMicros: Micros = 0;
  return (event) => {
    const gap = event.atMicros - lastMicros;
    const third = (gap - (gap % 3)) / 3;
    for (const atMicros of [lastMicros, lastMicros + third, event.atMicros - third, event.atMicros]) {
      give({ kind: "wake", atMicros });
    }
    give(event);
    lastMicros = event.atMicros;
  };
}

/** Moves everything by `shiftMicros`. */
export function shifted(give: Give, shiftMicros: Micros): Give {
  return (event) => {
    give({ ...event, atMicros: event.atMicros + shiftMicros });
  };
}

/** Cuts the power for a moment after every `every`-th event. */
export function withPowerCuts(give: Give, every: number): Give {
  let seen = 0;
  return (event) => {
    give(event);
    seen += 1;
    if (seen % every !== 0) return;
    give({ kind: "power-off", atMicros: event.atMicros });
    give({ kind: "power-on", atMicros: event.atMicros, darkKnown: true });
  };
}

/** Makes of every contact a closure that bounces at both ends, as long as bounce may last; moves events to make room. */
export function withBounce(give: Give, { closedMicros, openMicros }: Settings): Give {
  let delay = 0;
  let freeMicros: Micros = 0;
  const edge = (kind: "close" | "open", forMicros: Micros): void => {
    give({ kind, atMicros: freeMicros });
    freeMicros += forMicros;
  };
  return (event) => {
    if (event.atMicros + delay < freeMicros) delay = freeMicros - event.atMicros;
    if (event.kind !== "contact") {
      give({ ...event, atMicros: event.atMicros + delay });
      return;
    }
    freeMicros = event.atMicros + delay;
    const bounces = closedMicros > 1 && openMicros > 1 ? 1 + (event.atMicros % 3) : 0;
    for (let i = 0; i < bounces; i++) {
      edge("close", closedMicros - 1);
      edge("open", openMicros - 1);
    }
    edge("close", closedMicros + 1);
    for (let i = 0; i < bounces; i++) {
      edge("open", openMicros - 1);
      edge("close", closedMicros - 1);
    }
    edge("open", openMicros);
  };
}
