import fc from "fast-check";
import { expect, test } from "vitest";
import {
  copyState,
  type InhibitCause,
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
import { anySettings, anyStimulus, sound } from "../support/arbitraries.js";

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
        const made = stepInPlace(s, input);
        look(before);
        expect(made).toBe(s.paced > before.paced ? "paced" : s.primed > before.primed ? "primed" : "none");
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

test("a stroke that is due at the very end of the grace is made, however late the step and whatever it had missed", () => {
  const s = newState(
    sound({
      strokes: 1,
      contacts: 1,
      leastSpacingMicros: 1,
      cadence: "spread",
      graceMicros: 10,
      silentMicros: 4,
    }),
  );
  stepInPlace(s, { kind: "contact", atMicros: 0 });
  expect(stepInPlace(s, { kind: "wake", atMicros: 10 })).toBe("paced");
  expect([s.paced, s.shedStill, s.raised]).toEqual([1, 0, 2]);
});

test("a step sees no deadline before its time", () => {
  const s = newState(
    sound({
      strokes: 1,
      contacts: 1,
      leastSpacingMicros: 1,
      silentMicros: 4,
      stuckMicros: 6,
      closedMicros: 0,
    }),
  );
  stepInPlace(s, { kind: "close", atMicros: 0 });
  stepInPlace(s, { kind: "wake", atMicros: 5 });
  expect(s.raised).toBe(2); // Silent since 4 µs; stuck only from 6 µs on.
});

test("a contact that earns no whole stroke leaves the plan of what is owed as it was", () => {
  const s = newState(sound({ strokes: 1, contacts: 2, leastSpacingMicros: 1, graceMicros: 10_000 }));
  for (const atMicros of [0, 1_000, 1_100]) stepInPlace(s, { kind: "contact", atMicros });
  expect([s.owed, s.wakeAtMicros]).toEqual([1, 1_500]);
});

test("the interval that is remembered is never longer than the grace", () => {
  const s = newState(sound({ strokes: 1, contacts: 1, leastSpacingMicros: 1, graceMicros: 500 }));
  for (const atMicros of [0, 1_000]) stepInPlace(s, { kind: "contact", atMicros });
  expect(s.intervalMicros).toBe(500);
  stepInPlace(s, { kind: "contact", atMicros: 1_499 });
  expect(s.intervalMicros).toBe(499);
});

test("a closure that qualifies raises nothing", () => {
  const before = newState(sound({ strokes: 1, contacts: 1, leastSpacingMicros: 1 }));
  const closed = step(before, { kind: "close", atMicros: 1_000 });
  expect(step(closed.state, { kind: "wake", atMicros: 11_000 }).effects).toEqual([
    { kind: "counted", atMicros: 11_000, contacts: 1, earned: 1 },
  ]);
});

test("an input kind that does not exist acts as a wake-up", () => {
  const s = newState(sound({ strokes: 2, contacts: 1, leastSpacingMicros: 1_000 }));
  const stranger = { kind: "dance", atMicros: 5 } as unknown as Input;
  expect(step(s, stranger).state).toEqual(step(s, { kind: "wake", atMicros: 5 }).state);
});

test("an inhibit cause that does not exist forbids strokes as `other`, and ends no inhibit", () => {
  const s = newState(sound({ strokes: 2, contacts: 1, leastSpacingMicros: 1_000 }));
  const owing = step(s, { kind: "contact", atMicros: 1 }).state;
  const priming = step(owing, { kind: "prime-on", atMicros: 2 }).state;
  for (const cause of ["moon", "", undefined, 0, {}] as InhibitCause[]) {
    for (const state of [s, owing, priming]) {
      const stopped = step(state, { kind: "inhibit-on", atMicros: 5, cause }).state;
      expect(stopped).toEqual(step(state, { kind: "inhibit-on", atMicros: 5, cause: "other" }).state);
      const off = step(stopped, { kind: "inhibit-off", atMicros: 6, cause }).state;
      expect(decided(off)).toEqual(decided(step(stopped, { kind: "wake", atMicros: 6 }).state));
      expect(step(off, { kind: "inhibit-off", atMicros: 7, cause: "other" }).state.inhibits).toBe(0);
    }
  }
});
