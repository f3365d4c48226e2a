import fc from "fast-check";
import { expect, test } from "vitest";
import {
  copyState,
  type Input,
  newState,
  NO_WAKE,
  type Settings,
  type State,
  step,
  stepInPlace,
  wakeUntil,
} from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";

function inputsOf(stimulus: readonly StimulusEvent[]): Input[] {
  return stimulus.filter((event): event is Input => event.kind !== "power-off" && event.kind !== "power-on");
}

/** A state that a run can come to. */
function stateAfter(settings: Settings, inputs: readonly Input[], onTime: boolean): State {
  const s = newState(settings);
  for (const input of inputs) {
    if (onTime) wakeUntil(s, input.atMicros, () => undefined);
    stepInPlace(s, input);
  }
  return s;
}

/** All that a step decides, without what it tells of alarms that changed within it. */
function decided(s: Readonly<State>): State {
  return { ...s, raised: 0, cleared: 0 };
}

const run = { settings: anySettings, stimulus: anyStimulus, onTime: fc.boolean() };

test("the pure step leaves the state that it was given as it was, and does as the step in place", () => {
  fc.assert(
    fc.property(fc.record(run), ({ settings, stimulus, onTime }) => {
      const inputs = inputsOf(stimulus);
      const last = inputs.pop() ?? { kind: "wake", atMicros: 0 };
      const before = Object.freeze(stateAfter(settings, inputs, onTime));
      const inPlace = copyState(before);
      stepInPlace(inPlace, last);
      const pure = step(before, last);
      expect(pure.state).toEqual(inPlace);
      expect(pure.wakeAtMicros).toBe(inPlace.wakeAtMicros);
    }),
  );
});

test("every step asks for a wake-up later than itself, makes at most one stroke, and keeps the accounts", () => {
  fc.assert(
    fc.property(fc.record(run), ({ settings, stimulus, onTime }) => {
      const s = newState(settings);
      const look = (before: State): void => {
        const strokes = s.paced + s.primed - before.paced - before.primed;
        const shed = s.shedLimit + s.shedStill + s.shedHold + s.shedInhibit + s.shedTrip + s.shedPower;
        const sound =
          s.wakeAtMicros > s.nowMicros &&
          (s.wakeAtMicros === NO_WAKE || s.wakeAtMicros - s.nowMicros < 8 * 86_400_000_000) &&
          strokes <= 1 &&
          s.earned === s.paced + s.owed + shed &&
          s.remainder < s.settings.contacts &&
          s.owed <= s.settings.owedLimitStrokes &&
          !((s.held || s.inhibits || s.tripped) && (s.owed > 0 || s.priming));
        if (!sound) throw new Error(JSON.stringify(s));
      };
      for (const input of inputsOf(stimulus)) {
        let before = copyState(s);
        if (onTime) {
          wakeUntil(s, input.atMicros, () => {
            look(before);
            before = copyState(s);
          });
        }
        stepInPlace(s, input);
        look(before);
      }
    }),
  );
});

test("an input that finds the pacer late does as a wake-up at its moment and then the input", () => {
  fc.assert(
    fc.property(fc.record(run), ({ settings, stimulus, onTime }) => {
      const inputs = inputsOf(stimulus);
      const last = inputs.pop() ?? { kind: "wake", atMicros: 0 };
      const straight = stateAfter(settings, inputs, onTime);
      const woken = copyState(straight);
      stepInPlace(straight, last);
      stepInPlace(woken, { kind: "wake", atMicros: last.atMicros });
      stepInPlace(woken, last);
      expect(decided(woken)).toEqual(decided(straight));
    }),
    { numRuns: 400 },
  );
});

test("a wake-up that nobody asked for changes nothing but the time", () => {
  fc.assert(
    fc.property(fc.record(run), fc.nat(), ({ settings, stimulus }, early) => {
      const s = stateAfter(settings, inputsOf(stimulus), true);
      const atMicros = s.nowMicros + (early % (s.wakeAtMicros - s.nowMicros));
      const woken = step(s, { kind: "wake", atMicros });
      expect(decided(woken.state)).toEqual({ ...decided(s), nowMicros: atMicros });
      expect(woken.effects).toEqual([]);
    }),
  );
});

test("an input kind that does not exist acts as a wake-up", () => {
  const [settings] = fc.sample(anySettings, { numRuns: 1, seed: 1 }) as [Settings];
  const s = newState(settings);
  const stranger = { kind: "dance", atMicros: 5 } as unknown as Input;
  expect(step(s, stranger).state).toEqual(step(s, { kind: "wake", atMicros: 5 }).state);
  const cause = { kind: "inhibit-on", atMicros: 5, cause: "moon" } as unknown as Input;
  expect(step(s, cause).state).toEqual(step(s, { kind: "wake", atMicros: 5 }).state);
});
