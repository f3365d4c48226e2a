/**
 * The pacing core as two sides: the step in place, and the pure step. Bench.
 *
 * Both are driven tickless: woken exactly when they ask. The step in place is given one input record, used again and
 * again, as firmware would; the pure step is given fresh inputs and its effects are read, as a reducer's would be.
 */
import {
  type Effect,
  type Input,
  newState,
  type Settings,
  type State,
  step,
  stepInPlace,
  validateSettings,
} from "../../lib/pacing/index.js";
import { type Kind, KINDS, newTally, type Side, type Tally, TERMS } from "../log.js";

const MILLI = 1_000;

/** The terms of the bench as settings. Owed limit and grace are wide, so that they shed nothing on the way. */
export function benchSettings(): Settings {
  const verdict = validateSettings({
    strokes: TERMS.strokes,
    contacts: TERMS.contacts,
    leastSpacingMicros: TERMS.spacingMillis * MILLI,
    longestPrimeMicros: TERMS.longestPrimeMillis * MILLI,
    cadence: "prompt",
    owedLimitStrokes: 10_000,
  });
  if (!verdict.ok)
    throw new Error(verdict.faults.map(({ setting, fault }) => `${setting} ${fault}`).join("; "));
  return verdict.settings;
}

export const inPlaceSide: Side = {
  name: "step in place",
  start(log) {
    const tally = newTally();
    const state = newState(benchSettings());
    const input: { kind: Kind | "wake"; atMicros: number } = { kind: "wake", atMicros: 0 };
    let next = 0;
    const give = (): void => {
      const made = stepInPlace(state, input);
      if (made !== "none") count(tally, made, state.nowMicros);
    };
    const wakeUntil = (untilMicros: number): void => {
      input.kind = "wake";
      while (state.wakeAtMicros <= untilMicros) {
        input.atMicros = state.wakeAtMicros;
        give();
      }
    };
    return {
      tally,
      runTo(untilMillis) {
        for (; next < log.length && (log.atMillis[next] as number) <= untilMillis; next++) {
          const atMicros = (log.atMillis[next] as number) * MILLI;
          wakeUntil(atMicros);
          input.kind = KINDS[log.kinds[next] as number] as Kind;
          input.atMicros = atMicros;
          give();
        }
        wakeUntil(untilMillis * MILLI);
      },
    };
  },
};

export const pureSide: Side = {
  name: "pure step",
  start(log) {
    const tally = newTally();
    let state: Readonly<State> = newState(benchSettings());
    let wakeAtMicros = state.wakeAtMicros;
    let next = 0;
    const give = (input: Input): void => {
      const stepped = step(state, input);
      state = stepped.state;
      wakeAtMicros = stepped.wakeAtMicros;
      countEffects(tally, stepped.effects);
    };
    const wakeUntil = (untilMicros: number): void => {
      while (wakeAtMicros <= untilMicros) give({ kind: "wake", atMicros: wakeAtMicros });
    };
    return {
      tally,
      runTo(untilMillis) {
        for (; next < log.length && (log.atMillis[next] as number) <= untilMillis; next++) {
          const atMicros = (log.atMillis[next] as number) * MILLI;
          wakeUntil(atMicros);
          give({ kind: KINDS[log.kinds[next] as number] as Kind, atMicros });
        }
        wakeUntil(untilMillis * MILLI);
      },
    };
  },
};

/** Counts the strokes among the effects. */
export function countEffects(tally: Tally, effects: readonly Effect[]): void {
  for (const effect of effects) {
    if (effect.kind === "paced" || effect.kind === "primed") count(tally, effect.kind, effect.atMicros);
  }
}

function count(tally: Tally, made: "paced" | "primed", atMicros: number): void {
  if (made === "paced") tally.paced += 1;
  else tally.primed += 1;
  tally.sumMillis += atMicros / MILLI;
}
