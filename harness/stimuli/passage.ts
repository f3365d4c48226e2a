/**
 * What is a stimulus made of, so that it can be told in few words and made shorter? Passages, one after another.
 *
 * Harness layer. A run of evenly spaced contacts is one passage however long it is; anything else is an event. Each
 * passage says how long after the one before it begins, so that one can be taken out and the rest moves up.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { instantSorter, type StimulusEvent } from "../../lib/trace/index.js";

type Untimed<Event> = Event extends unknown ? Omit<Event, "atMicros"> : never;
/** An event without its time. */
export type Happening = Untimed<StimulusEvent>;

export type Passage =
  | {
      readonly kind: "contacts";
      /** From the end of the passage before to the first contact. */
      readonly afterMicros: Micros;
      readonly count: number;
      /** From one contact to the next. */
      readonly everyMicros: Micros;
    }
  | {
      /** Clean closures of the raw contact; each is one contact if it lasts long enough. */
      readonly kind: "closures";
      readonly afterMicros: Micros;
      readonly count: number;
      readonly everyMicros: Micros;
      readonly closedMicros: Micros;
    }
  | { readonly kind: "event"; readonly afterMicros: Micros; readonly event: Happening };

export interface Stimulus {
  readonly passages: readonly Passage[];
  /** How long the run goes on after the last event. */
  readonly tailMicros: Micros;
  /** Reading of the device's clock at the start, in µs, where it matters. */
  readonly startMicros?: Micros;
}

/** `count` contacts, the first `afterMicros` on. */
export function contacts(count: number, everyMicros: Micros, afterMicros: Micros = everyMicros): Passage {
  return { kind: "contacts", afterMicros, count, everyMicros };
}

export function happens(
  kind: Exclude<StimulusEvent["kind"], "settings" | "inhibit-on" | "inhibit-off" | "power-on">,
  afterMicros: Micros,
): Passage {
  return { kind: "event", afterMicros, event: { kind } };
}

export function event(afterMicros: Micros, what: Happening): Passage {
  return { kind: "event", afterMicros, event: what };
}

/** How long a passage lasts from its first event to its last. */
export function lengthOf(passage: Passage): Micros {
  if (passage.kind === "event") return 0;
  const last = (passage.count - 1) * passage.everyMicros;
  return passage.kind === "contacts" ? last : last + passage.closedMicros;
}

/** Time of the last event. */
export function lastMicrosOf(passages: readonly Passage[]): Micros {
  return passages.reduce((micros, passage) => micros + passage.afterMicros + lengthOf(passage), 0);
}

/** The whole length of the run. */
export function untilOf({ passages, tailMicros }: Stimulus): Micros {
  return lastMicrosOf(passages) + tailMicros;
}

/** All events in order, those of one instant in the documented order. */
export function eventsOf(passages: readonly Passage[]): StimulusEvent[] {
  const events: StimulusEvent[] = [];
  const sorter = instantSorter((each) => events.push(each));
  let micros: Micros = 0;
  for (const passage of passages) {
    micros += passage.afterMicros;
    if (passage.kind === "event") sorter.take({ ...passage.event, atMicros: micros });
    else {
      for (let i = 0; i < passage.count; i++) {
        const atMicros = micros + i * passage.everyMicros;
        if (passage.kind === "contacts") sorter.take({ kind: "contact", atMicros });
        else {
          sorter.take({ kind: "close", atMicros });
          sorter.take({ kind: "open", atMicros: atMicros + passage.closedMicros });
        }
      }
    }
    micros += lengthOf(passage);
  }
  sorter.end();
  return events;
}

/** The passages that give just these events: the longest even runs, from the front. */
export function passagesOf(events: readonly StimulusEvent[]): Passage[] {
  const passages: Passage[] = [];
  let lastMicros: Micros = 0;
  for (let i = 0; i < events.length;) {
    const first = events[i] as StimulusEvent;
    const afterMicros = first.atMicros - lastMicros;
    const run = first.kind === "contact" ? contactsAt(events, i) : closuresAt(events, i);
    if (run === undefined) {
      const { atMicros, ...what } = first;
      passages.push({ kind: "event", afterMicros, event: what });
      lastMicros = atMicros;
      i += 1;
      continue;
    }
    const passage = { ...run, afterMicros };
    passages.push(passage);
    lastMicros = first.atMicros + lengthOf(passage);
    i += run.kind === "contacts" ? run.count : 2 * run.count;
  }
  return passages;
}

function contactsAt(events: readonly StimulusEvent[], from: number): Passage & { kind: "contacts" } {
  const gap = (i: number): Micros | undefined => {
    const [one, next] = [events[i], events[i + 1]];
    return one && next?.kind === "contact" ? next.atMicros - one.atMicros : undefined;
  };
  const everyMicros = gap(from) ?? 0;
  let count = 1;
  while (gap(from + count - 1) === everyMicros) count += 1;
  return { kind: "contacts", afterMicros: 0, count, everyMicros };
}

function closuresAt(
  events: readonly StimulusEvent[],
  from: number,
): (Passage & { kind: "closures" }) | undefined {
  const closedFor = (i: number): Micros | undefined => {
    const [close, open] = [events[i], events[i + 1]];
    return close?.kind === "close" && open?.kind === "open" ? open.atMicros - close.atMicros : undefined;
  };
  const closedMicros = closedFor(from);
  if (closedMicros === undefined) return undefined;
  const start = (events[from] as StimulusEvent).atMicros;
  const everyMicros = closedFor(from + 2) === closedMicros ? (events[from + 2]?.atMicros ?? 0) - start : 0;
  let count = 1;
  while (
    everyMicros > 0 &&
    closedFor(from + 2 * count) === closedMicros &&
    events[from + 2 * count]?.atMicros === start + count * everyMicros
  ) {
    count += 1;
  }
  return { kind: "closures", afterMicros: 0, count, everyMicros, closedMicros };
}
