/**
 * A pacer in virtual time, and everything that came of it. Test support for the reactive layer.
 */
import { type MonoTypeOperatorFunction, type Observable, Subject, tap, VirtualTimeScheduler } from "rxjs";
import { type Effect, type Settings, type SettingsInput, type Stepped } from "../../lib/pacing/index.js";
import {
  type InhibitChange,
  type MeterInput,
  pace,
  type SettingsChange,
  type Stroke,
} from "../../lib/reactive/index.js";
import { sound } from "../support/arbitraries.js";

/** One stroke a contact, as soon as the cap of one a second allows, and no alarm unless the test asks for one. */
export function prompt(changes: Partial<SettingsInput> = {}): Settings {
  return sound({
    strokes: 1,
    contacts: 1,
    leastSpacingMicros: 1_000_000,
    cadence: "prompt",
    stuckMicros: 0,
    silentMicros: 0,
    ...changes,
  });
}

/** The last thing that an output said. */
export type Ending = "complete" | { readonly error: unknown };

/** Every value of `output$`, and its end if it had one, from now on. */
export function collect<Value>(output$: Observable<Value>) {
  const got = { values: [] as Value[], ending: undefined as Ending | undefined };
  const subscription = output$.subscribe({
    next: (value) => got.values.push(value),
    error: (error: unknown) => (got.ending = { error }),
    complete: () => (got.ending = "complete"),
  });
  return Object.assign(got, { subscription });
}

/** A scheduler, a meter and every control, as subjects to be pushed by hand. */
export function bench() {
  const scheduler = new VirtualTimeScheduler();
  const meter$ = new Subject<MeterInput>();
  const controls = {
    prime$: new Subject<boolean>(),
    hold$: new Subject<boolean>(),
    inhibit$: new Subject<InhibitChange>(),
    reset$: new Subject<unknown>(),
    settings$: new Subject<SettingsChange>(),
  };
  return {
    scheduler,
    meter$,
    controls,
    pace: (settings: Settings) => pace(settings, controls, scheduler),
    /** Does `work` at a virtual time. */
    at: (millis: number, work: () => void) => {
      scheduler.schedule(work, millis);
    },
    /** True where anybody listens to the meter or to a control, or a wake-up is pending. */
    isLive: () =>
      meter$.observed ||
      Object.values(controls).some((control$) => control$.observed) ||
      scheduler.actions.length > 0,
  };
}

export function effectsOf(steps: readonly Stepped[]): Effect[] {
  return steps.flatMap((stepped) => stepped.effects);
}

/** `1.5 paced` and the like: the strokes, in seconds. */
export function strokesOf(steps: readonly Stepped[]): string[] {
  return effectsOf(steps).filter(isStroke).map(tellStroke);
}

export function tellStroke(stroke: Stroke): string {
  return `${stroke.atMicros / 1_000_000} ${stroke.kind}`;
}

export function isStroke(effect: { readonly kind: string }): effect is Stroke {
  return effect.kind === "paced" || effect.kind === "primed";
}

/** Writes down when a stream is subscribed. */
export function onSubscribe<Value>(log: string[], name: string): MonoTypeOperatorFunction<Value> {
  return tap({ subscribe: () => log.push(name) });
}
