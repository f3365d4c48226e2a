/**
 * The in-process pacer as a device, in virtual time. Harness layer.
 *
 * Wakes the core when it asks, late if told to, and writes down every input, every effect and, after each step, the
 * accounts. Power-off takes a snapshot and forgets the rest; power-on restores from it.
 */
import {
  DARK_UNKNOWN,
  effectsBetween,
  type Input,
  LAST_MICROS,
  type Micros,
  newState,
  restoreSnapshot,
  type Settings,
  type State,
  stepInPlace,
  copyState,
  takeSnapshot,
} from "../../lib/pacing/index.js";
import { accountsOf, type StimulusEvent } from "../../lib/trace/index.js";
import type { Run, RunOptions, TraceSink } from "../device.js";

/** A run whose state can be looked at. */
export interface ModelRun extends Run {
  readonly state: Readonly<State>;
}

/** Starts a run of the pacer. */
export function runModel(settings: Settings, sink: TraceSink, options: RunOptions = {}): ModelRun {
  const lateness = options.lateness ?? (() => 0);
  let state = newState(settings, options.startMicros ?? 0);
  let dark: { readonly bytes: Uint8Array; readonly sinceMicros: Micros } | undefined;

  const stepAndTell = (input: Input): void => {
    const before = copyState(state);
    stepInPlace(state, input);
    for (const effect of effectsBetween(before, state)) sink(effect);
    sink(accountsOf(state));
  };

  const wakeUntil = (untilMicros: Micros): void => {
    for (;;) {
      const atMicros = state.wakeAtMicros + lateness(state.wakeAtMicros);
      // Time stands still past the last there is: a wake-up that is asked for later never comes.
      if (atMicros > untilMicros || state.wakeAtMicros > LAST_MICROS) return;
      stepAndTell({ kind: "wake", atMicros });
    }
  };

  const switchOn = (atMicros: Micros, darkKnown: boolean): void => {
    if (dark === undefined) return;
    const darkMicros = darkKnown ? atMicros - dark.sinceMicros : DARK_UNKNOWN;
    const restored = restoreSnapshot(state.settings, dark.bytes, atMicros, darkMicros);
    dark = undefined;
    if (!restored.ok) {
      sink({ kind: "fault", atMicros, message: `snapshot refused: ${restored.refusal}` });
      return;
    }
    state = restored.state;
    for (const effect of restored.effects) sink(effect);
    sink(accountsOf(state));
  };

  return {
    get state() {
      return state;
    },
    give(event: StimulusEvent) {
      if (dark === undefined) {
        wakeUntil(event.atMicros);
        // A late one finds what was due still undone: that acts before the event, so the trace tells it before.
        if (state.wakeAtMicros <= event.atMicros) stepAndTell({ kind: "wake", atMicros: event.atMicros });
      }
      sink(event);
      if (event.kind === "power-on") switchOn(event.atMicros, event.darkKnown);
      else if (dark !== undefined) return;
      else if (event.kind === "power-off") {
        stepAndTell({ kind: "wake", atMicros: event.atMicros });
        dark = { bytes: takeSnapshot(state), sinceMicros: event.atMicros };
      } else stepAndTell(event);
    },
    end(untilMicros) {
      if (dark === undefined) wakeUntil(untilMicros);
    },
  };
}
