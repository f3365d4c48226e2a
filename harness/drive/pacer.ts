/**
 * How does a pacer run live, so that what it does can be kept before it is done? Harness layer.
 *
 * The pacer is `pace` of the reactive layer. Each input gives one list of events, itself among them, and so does each
 * wake-up; whoever hears it commits it before anything is asked of the pump. A pacer can be taken up again from
 * another state at any moment: so strokes keep their spacing from the moment at which the pump said that it began, and
 * the prime override can end at a moment that has passed.
 */
import { type SchedulerAction, type SchedulerLike, Subject, type Subscription } from "rxjs";
import {
  type Micros,
  restoreSnapshot,
  type State,
  step,
  type Stepped,
  takeSnapshot,
} from "../../lib/pacing/index.js";
import { type InhibitChange, type MeterInput, pace, type SettingsChange } from "../../lib/reactive/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";

/** An input that is stamped when it acts. */
export type LiveInput =
  | { readonly kind: MeterInput | "prime-on" | "prime-off" | "hold-on" | "hold-off" | "reset" }
  | ({ readonly kind: "inhibit-on" | "inhibit-off" } & Pick<InhibitChange, "cause">)
  | ({ readonly kind: "settings" } & SettingsChange);

export interface PacerParts {
  readonly scheduler: SchedulerLike;
  /** The journal's time. */
  readonly nowMicros: () => Micros;
  /** Looked at before each wake-up acts, since what it finds may take the pacer up from another state. */
  readonly beforeWake: () => void;
  /** All that came of one input or one wake-up. */
  readonly onStep: (events: readonly TraceEvent[]) => void;
  /** It cannot go on: a defect of ours. */
  readonly onError: (error: unknown) => void;
}

export interface LivePacer {
  /** After the last step. */
  state(): Readonly<State>;
  give(input: LiveInput): void;
  /** Takes the last stroke for one at this moment, so that the next keeps the least spacing from it. */
  space(strokeMicros: Micros): void;
  /** Ends prime as of the last step, so that a release that is seen late lets no stroke through. */
  letGo(): void;
  /** The machine slept since the last step: as far as water and pump are concerned, the power was off. */
  sleep(): void;
  /** No stroke comes of it any more. */
  stop(): void;
}

export function livePacer(begin: Readonly<State>, parts: PacerParts): LivePacer {
  const meter$ = new Subject<MeterInput>();
  const prime$ = new Subject<boolean>();
  const hold$ = new Subject<boolean>();
  const inhibit$ = new Subject<InhibitChange>();
  const reset$ = new Subject<true>();
  const settings$ = new Subject<SettingsChange>();
  const scheduler = watched(parts.scheduler, parts.beforeWake);
  let state = begin;
  let running: Subscription | undefined;
  let gathered: Stepped[] | undefined;
  let isStopped = false;

  const take = (stepped: Stepped): void => {
    state = stepped.state;
    if (gathered !== undefined) gathered.push(stepped);
    else if (stepped.effects.length > 0) parts.onStep(stepped.effects);
  };

  const push = (input: LiveInput): void => {
    switch (input.kind) {
      case "close":
      case "open":
      case "contact":
        meter$.next(input.kind);
        return;
      case "prime-on":
      case "prime-off":
        prime$.next(input.kind === "prime-on");
        return;
      case "hold-on":
      case "hold-off":
        hold$.next(input.kind === "hold-on");
        return;
      case "inhibit-on":
      case "inhibit-off":
        inhibit$.next({ cause: input.cause, on: input.kind === "inhibit-on" });
        return;
      case "reset":
        reset$.next(true);
        return;
      case "settings":
        settings$.next(input);
        return;
    }
  };

  const resume = (from: Readonly<State>): void => {
    if (isStopped) return;
    running?.unsubscribe();
    const nowMicros = Math.max(from.nowMicros, parts.nowMicros());
    // Woken at once, it works out anew when it next needs to be.
    state = { ...from, nowMicros, wakeAtMicros: nowMicros };
    running = meter$
      .pipe(pace(state, { prime$, hold$, inhibit$, reset$, settings$ }, scheduler))
      .subscribe({ next: take, error: parts.onError });
  };
  resume(begin);

  return {
    state: () => state,
    give(input) {
      if (isStopped) return;
      gathered = [];
      push(input);
      const steps = gathered;
      gathered = undefined;
      // What was due before the input acts first, as a step of its own.
      const last = steps.length - 1;
      const events = steps.flatMap((stepped, at): readonly TraceEvent[] =>
        at < last ? stepped.effects : [{ ...input, atMicros: stepped.state.nowMicros }, ...stepped.effects],
      );
      if (events.length > 0) parts.onStep(events);
    },
    space(strokeMicros) {
      resume({ ...state, strokeMicros });
    },
    letGo() {
      const atMicros = state.nowMicros;
      const released = step(state, { kind: "prime-off", atMicros });
      resume(released.state);
      parts.onStep([{ kind: "prime-off", atMicros }, ...released.effects]);
    },
    sleep() {
      const before = state.nowMicros;
      const nowMicros = parts.nowMicros();
      const restored = restoreSnapshot(state.settings, takeSnapshot(state), nowMicros, nowMicros - before);
      if (!restored.ok) throw new Error(`a snapshot of a live pacer was refused: ${restored.refusal}`);
      resume(restored.state);
      parts.onStep([
        { kind: "power-off", atMicros: before },
        { kind: "power-on", atMicros: nowMicros, darkKnown: true },
        ...restored.effects,
      ]);
    },
    stop() {
      isStopped = true;
      running?.unsubscribe();
    },
  };
}

/** The same scheduler, which looks first whenever time has come for something. */
function watched(scheduler: SchedulerLike, look: () => void): SchedulerLike {
  return {
    now: () => scheduler.now(),
    schedule: <Value>(
      work: (this: SchedulerAction<Value>, state?: Value) => void,
      delay?: number,
      state?: Value,
    ) =>
      scheduler.schedule<Value>(
        function (this: SchedulerAction<Value>, given?: Value) {
          look();
          work.call(this, given);
        },
        delay,
        state,
      ),
  };
}
