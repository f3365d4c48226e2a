/**
 * A journal as a live feed would leave it, in no time: a pacer in virtual time, kept step by step. Test support.
 */
import { openJournal } from "../../harness/journal/open.js";
import type { Journal } from "../../harness/journal/store.js";
import { showSettings } from "../../harness/files/settings.js";
import {
  DARK_UNKNOWN,
  type Input,
  type Micros,
  newState,
  NO_WAKE,
  restoreSnapshot,
  SECOND,
  type Settings,
  type State,
  step,
  validateSettings,
} from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";

export const PLAN = JSON.stringify({
  "contact-volume": "10 L",
  dose: "2.55 mg/L",
  strength: "51 g/L",
  "stroke-volume": "0.2 mL",
  cap: 120,
  peak: "50 L/min",
});

function settingsFor(strokes: number, contacts: number): Settings {
  const verdict = validateSettings({
    strokes,
    contacts,
    leastSpacingMicros: SECOND / 2,
    leastContactMicros: 0,
  });
  if (!verdict.ok) throw new Error(verdict.faults.map(({ fault }) => fault).join());
  return verdict.settings;
}

/** 5:2, as the plan asks. */
export const SETTINGS = settingsFor(5, 2);

export interface Start {
  /** The wall clock at the start, in ms. */
  readonly wallMs: number;
  readonly darkMicros?: Micros;
  readonly zone?: string;
  readonly plan?: string;
  /** What became of the stroke that the last start left unacknowledged. */
  readonly resolved?: "uncertain";
  /** The pump says no word of its strokes. */
  readonly isMute?: true;
}

/** One start of a feed; kill it by {@link Fed.kill}, or end it. */
export interface Fed {
  readonly state: () => State;
  /** Inputs at a time since this start; what is due before acts first. */
  give(seconds: number, ...kinds: ("contact" | "hold-on" | "hold-off" | "prime-on" | "prime-off")[]): void;
  /** The wall clock is set on, or back. */
  setClock(byMs: number): void;
  note(kind: string, words: string): void;
  end(why: string): void;
  kill(): void;
}

export function startFeed(folder: string, start: Start): Fed {
  let setMs = 0;
  let startMicros = 0;
  let state = newState(SETTINGS);
  const journal: Journal = openJournal(folder, () => ({
    wallMs: start.wallMs + setMs + Math.floor((state.nowMicros - startMicros) / 1_000),
    boot: undefined,
  }));
  const { kept } = journal;
  let number = kept?.number ?? 0;
  const uncertain = (kept?.tallies.uncertain ?? 0) + (start.resolved === undefined ? 0 : 1);
  const events: TraceEvent[] = [];
  if (kept !== undefined) {
    const atMicros = kept.atMicros + (start.darkMicros ?? 0);
    const restored = restoreSnapshot(
      kept.settings,
      kept.snapshot,
      atMicros,
      start.darkMicros ?? DARK_UNKNOWN,
    );
    if (!restored.ok) throw new Error(restored.refusal);
    state = restored.state;
    startMicros = atMicros;
    events.push(
      { kind: "power-off", atMicros: kept.atMicros },
      { kind: "power-on", atMicros, darkKnown: start.darkMicros !== undefined },
      ...restored.effects,
    );
  }
  const base = { register: undefined, unmade: undefined, uncertain };
  journal.begin(
    {
      meter: "mock",
      pump: "mock",
      settings: showSettings(SETTINGS),
      plan: start.plan,
      zone: start.zone ?? "UTC",
      version: "0.0.0",
      darkMicros: start.darkMicros,
      resolved: start.resolved,
    },
    { ...base, events, state, number },
  );

  const act = (input: Input): void => {
    const stepped = step(state, input);
    const made = stepped.effects.find(({ kind }) => kind === "paced" || kind === "primed");
    state = stepped.state;
    if (made !== undefined) number += 1;
    journal.commit({
      ...base,
      events: [...(input.kind === "wake" ? [] : [input]), ...stepped.effects],
      state,
      number,
      ...(made === undefined ? {} : { stroke: { number, cause: made.kind as "paced" | "primed" } }),
    });
    if (made !== undefined && start.isMute !== true) journal.acknowledge(state.nowMicros);
  };
  const upTo = (atMicros: Micros): void => {
    while (state.wakeAtMicros !== NO_WAKE && state.wakeAtMicros <= atMicros) {
      act({ kind: "wake", atMicros: state.wakeAtMicros });
    }
  };
  return {
    state: () => state,
    give(seconds, ...kinds) {
      const atMicros = startMicros + Math.round(seconds * SECOND);
      upTo(atMicros);
      for (const kind of kinds) act({ kind, atMicros });
    },
    setClock(byMs) {
      setMs += byMs;
    },
    note(kind, words) {
      journal.note(kind, words, state.nowMicros);
    },
    end(why) {
      journal.end(why, state.nowMicros);
      journal.close();
    },
    kill() {
      journal.close();
    },
  };
}
