/**
 * Is the operator the same pacer as the model of the harness? Over any stimulus, effect by effect.
 */
import fc from "fast-check";
import { type SchedulerLike, Subject, VirtualTimeScheduler } from "rxjs";
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { type Effect, type Input, instantOrder, type Micros, type Settings } from "../../lib/pacing/index.js";
import { type InhibitChange, type MeterInput, pace, type SettingsChange } from "../../lib/reactive/index.js";
import { isStimulus } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { effectsOf, collect, isStroke } from "./rig.js";

const STILL_MILLIS = 6_000;

/** Inputs at whole milliseconds, so that every clock agrees on them, in the documented order of each instant. */
const wholeMillis: fc.Arbitrary<readonly Input[]> = anyStimulus.map((events) =>
  events
    .filter((event) => event.kind !== "power-off" && event.kind !== "power-on")
    .map((input): Input => ({ ...input, atMicros: Math.ceil(input.atMicros / 1_000) * 1_000 }))
    .sort((a, b) => a.atMicros - b.atMicros || instantOrder(a.kind) - instantOrder(b.kind)),
);

function endMicros(stimulus: readonly Input[]): Micros {
  return (stimulus.at(-1)?.atMicros ?? 0) + STILL_MILLIS * 1_000;
}

function modelEffects(
  settings: Settings,
  stimulus: readonly Input[],
  lateness?: (askedMicros: Micros) => Micros,
): Effect[] {
  const effects: Effect[] = [];
  const model = runModel(
    settings,
    (event) => {
      if (!isStimulus(event) && event.kind !== "status" && event.kind !== "fault") effects.push(event);
    },
    lateness ? { lateness } : {},
  );
  for (const input of stimulus) model.give(input);
  model.end(endMicros(stimulus));
  return effects;
}

/** Pushes the stimulus into the operator, one scheduled input at a time. `clock` is what the operator sees. */
function operatorEffects(
  settings: Settings,
  stimulus: readonly Input[],
  clock: (time: VirtualTimeScheduler) => SchedulerLike = (time) => time,
): Effect[] {
  const time = new VirtualTimeScheduler();
  time.maxFrames = endMicros(stimulus) / 1_000;
  const meter$ = new Subject<MeterInput>();
  const prime$ = new Subject<boolean>();
  const hold$ = new Subject<boolean>();
  const inhibit$ = new Subject<InhibitChange>();
  const reset$ = new Subject<unknown>();
  const settings$ = new Subject<SettingsChange>();

  const push = (input: Input): void => {
    switch (input.kind) {
      case "contact":
      case "close":
      case "open":
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
        reset$.next(undefined);
        return;
      case "settings":
        settings$.next(input);
        return;
      case "wake":
        return;
    }
  };
  const pushFrom = (place: number): void => {
    const input = stimulus[place];
    if (input === undefined) return;
    time.schedule(
      () => {
        push(input);
        pushFrom(place + 1);
      },
      input.atMicros / 1_000 - time.now(),
    );
  };

  const controls = { prime$, hold$, inhibit$, reset$, settings$ };
  const output = collect(meter$.pipe(pace(settings, controls, clock(time))));
  pushFrom(0);
  time.flush();
  output.subscription.unsubscribe();
  return effectsOf(output.values);
}

/** Timers as hosts have them: a clock of whole milliseconds, and delays that lose their fraction. */
function millisecondTimers(time: VirtualTimeScheduler): SchedulerLike {
  return {
    now: () => Math.floor(time.now()),
    schedule: (work: Parameters<SchedulerLike["schedule"]>[0], delay = 0, state?: unknown) =>
      time.schedule(work, Math.trunc(delay), state),
  };
}

test("in virtual time the operator has exactly the effects of the model, for any settings and stimulus", () => {
  let strokes = 0;
  fc.assert(
    fc.property(anySettings, wholeMillis, (settings, stimulus) => {
      const expected = modelEffects(settings, stimulus);
      strokes += expected.filter(isStroke).length;
      expect(operatorEffects(settings, stimulus)).toEqual(expected);
    }),
    { numRuns: 500 },
  );
  expect(strokes).toBeGreaterThan(1_000);
});

test("on timers of whole milliseconds it is the model whose wake-ups come at the next whole millisecond", () => {
  const toNextMilli = (askedMicros: Micros): Micros => (1_000 - (askedMicros % 1_000)) % 1_000;
  fc.assert(
    fc.property(anySettings, wholeMillis, (settings, stimulus) => {
      expect(operatorEffects(settings, stimulus, millisecondTimers)).toEqual(
        modelEffects(settings, stimulus, toNextMilli),
      );
    }),
    { numRuns: 300 },
  );
});
