/**
 * What do tests of the pacing core share? Settings that are sound, inputs in few words, and a run in virtual time.
 *
 * Every state is frozen before it is stepped, so that a step that is not pure fails by itself.
 */
import {
  type Effect,
  type Input,
  type InputKind,
  type Micros,
  newState,
  SECOND,
  type Settings,
  type SettingsInput,
  type State,
  step,
  validateSettings,
} from "../../lib/pacing/index.js";

/** One stroke a contact, 10 ms apart at least, and every other setting at its default. */
export const PLAIN: SettingsInput = { strokes: 1, contacts: 1, leastSpacingMicros: 10_000 };

/** Settings that must be sound; throws with every fault where they are not. */
export function valid(over: Partial<SettingsInput> = {}): Settings {
  const verdict = validateSettings({ ...PLAIN, ...over });
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  return verdict.settings;
}

type Plain = Exclude<InputKind, "inhibit-on" | "inhibit-off" | "settings">;

/** An input that needs nothing but a time. */
export function at(atMicros: Micros, kind: Plain = "contact"): Input {
  return { kind, atMicros };
}

/** As many contacts, evenly spaced, the first at `everyMicros`. */
export function contacts(count: number, everyMicros: Micros = SECOND): Input[] {
  return Array.from({ length: count }, (_, i) => at((i + 1) * everyMicros));
}

export interface Ran {
  readonly effects: readonly Effect[];
  readonly state: Readonly<State>;
}

/** Gives inputs to a pacer and wakes it exactly when it asks, up to and including `untilMicros`. */
export function run(start: Settings | Readonly<State>, inputs: readonly Input[], untilMicros: Micros): Ran {
  let state: Readonly<State> = "settings" in start ? start : newState(start);
  const effects: Effect[] = [];
  const give = (input: Input): void => {
    const next = step(Object.freeze(state), input);
    effects.push(...next.effects);
    state = next.state;
  };
  const wakeUpTo = (micros: Micros): void => {
    while (state.wakeAtMicros <= micros) give({ kind: "wake", atMicros: state.wakeAtMicros });
  };
  for (const input of inputs) {
    wakeUpTo(input.atMicros);
    give(input);
  }
  wakeUpTo(untilMicros);
  return { effects, state };
}

/** When strokes were made, of either cause. */
export function strokeTimes(effects: readonly Effect[]): Micros[] {
  return effects.filter(({ kind }) => kind === "paced" || kind === "primed").map(({ atMicros }) => atMicros);
}

/** Strokes made from each contact up to the next. */
export function strokesAfterEach(inputs: readonly Input[], effects: readonly Effect[]): number[] {
  const counts = inputs.map(() => 0);
  let last = -1;
  for (const atMicros of strokeTimes(effects)) {
    while (last + 1 < inputs.length && (inputs[last + 1] as Input).atMicros <= atMicros) last += 1;
    counts[last] = (counts[last] ?? 0) + 1;
  }
  return counts;
}
