/**
 * How does what happens in a feed get into its journal? Harness layer.
 *
 * In transactions of one step, or of many contacts that were told together. A stroke is in the journal before it is
 * handed out. Once the journal has failed nothing more is kept, and nothing more is handed out.
 */
import type { ShedCause, State } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { countedOn } from "../field/register.js";
import type { Journal } from "../journal/store.js";
import type { Stroke } from "./stroke.js";
import { shedByNow, unmadeState } from "./under-way.js";

/** Edges that change nothing are kept together until a beat, or so many. */
const EDGES_MOST = 256;

export interface KeeperParts {
  readonly journal: Journal;
  /** Strokes so far of which nobody can tell. */
  readonly uncertain: number;
  /** Of the last stroke that was asked for. */
  readonly number: number;
  /** After what is being kept. */
  readonly state: () => Readonly<State>;
  readonly register: () => number | undefined;
  readonly underWay: () => Stroke | undefined;
  readonly onKept: (events: readonly TraceEvent[]) => void;
  readonly onFailed: (error: unknown) => void;
}

export interface Keeper {
  /** Keeps what has happened; a stroke among it, at most one, may be asked for now. */
  take(events: readonly TraceEvent[]): Stroke | undefined;
  /** What is taken within `act` is kept together, unless a stroke is among it. */
  together(act: () => void): void;
  /** Keeps what waits, and how things stand. */
  flush(): void;
  /** The state that was kept last: where the journal failed, the pacer is ahead of it by what was never done. */
  kept(): Readonly<State>;
  /** At a beat: keeps what waits, or that the feed is alive. */
  beat(): void;
  /** Does something else to the journal; false where it failed. */
  safely(act: (journal: Journal) => void): boolean;
}

export function startKeeper(parts: KeeperParts): Keeper {
  let waiting: TraceEvent[] = [];
  let isTogether = false;
  let number = parts.number;
  let kept = parts.state();
  /** Why the stroke under way, had it not been made, was shed since. */
  let shed: ShedCause | undefined;

  const safely = (act: (journal: Journal) => void): boolean => {
    try {
      act(parts.journal);
      return true;
    } catch (error) {
      parts.onFailed(error);
      return false;
    }
  };

  const commit = (stroke?: Stroke): boolean => {
    const events = waiting;
    waiting = [];
    const state = parts.state();
    const open = stroke ?? parts.underWay();
    const before = stroke === undefined ? shed : undefined;
    shed = open?.cause === "paced" ? (before ?? shedByNow(state)) : undefined;
    const isKept = safely((journal) => {
      journal.commit({
        events,
        state,
        register: parts.register(),
        uncertain: parts.uncertain,
        number: stroke?.number ?? number,
        unmade: open === undefined ? undefined : unmadeState(state, open.cause, shed),
        unmadeShed: shed === before ? undefined : shed,
        ...(stroke === undefined ? {} : { stroke }),
      });
    });
    if (isKept) kept = state;
    if (isKept && events.length > 0) parts.onKept(events);
    return isKept;
  };

  return {
    safely,
    kept: () => kept,
    take(events) {
      waiting.push(...events);
      const cause = causeIn(events);
      if (cause === undefined) {
        const mayWait = isTogether || (isBareEdge(events) && waiting.length < EDGES_MOST);
        if (!mayWait) commit();
        return undefined;
      }
      const stroke = { number: countedOn(number, 1), cause };
      if (!commit(stroke)) return undefined;
      number = stroke.number;
      return stroke;
    },
    together(act) {
      isTogether = true;
      act();
      isTogether = false;
      if (waiting.length > 0) commit();
    },
    flush: () => void commit(),
    beat() {
      if (waiting.length > 0) commit();
      else {
        safely((journal) => {
          journal.alive();
        });
      }
    },
  };
}

function causeIn(events: readonly TraceEvent[]): Stroke["cause"] | undefined {
  for (const { kind } of events) if (kind === "paced" || kind === "primed") return kind;
  return undefined;
}

function isBareEdge([first, second]: readonly TraceEvent[]): boolean {
  return second === undefined && (first?.kind === "close" || first?.kind === "open");
}
