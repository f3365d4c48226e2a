/**
 * Every state that the core can come to, for small ratios and limits: explored breadth first, each state once.
 *
 * Two states that differ only in the moment, in tallies, or in how long ago something was that no setting can tell
 * from longer, have the same future; so the moment is put to 0, tallies are dropped and ages are cut off. What is
 * left is finite, and going through all of it is going through every sequence of inputs, on time and late.
 */
import { expect, test } from "vitest";
import {
  copyState,
  newState,
  NO_WAKE,
  type SettingsInput,
  type State,
  stepInPlace,
} from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";

const STATES_MOST = Number(process.env["TALLYSTROKE_STATES"] ?? 12_000);
const NOW = 1_000;
/** Longer than every setting below. */
const OLDEST = 16;

const KINDS = [
  "wake",
  "contact",
  "close",
  "open",
  "prime-on",
  "prime-off",
  "hold-on",
  "hold-off",
  "inhibit-on",
  "inhibit-off",
  "reset",
] as const;
const GAPS = [0, 1, 3];

const SMALL: SettingsInput = {
  strokes: 1,
  contacts: 1,
  leastSpacingMicros: 2,
  graceMicros: 4,
  owedLimitStrokes: 2,
  longestPrimeMicros: 3,
  closedMicros: 1,
  openMicros: 1,
  stuckMicros: 0,
  silentMicros: 0,
};

const CASES: readonly Partial<SettingsInput>[] = [
  { cadence: "prompt" },
  { cadence: "spread" },
  { strokes: 3, contacts: 2, cadence: "spread", owedLimitStrokes: 3 },
  { strokes: 1, contacts: 3, cadence: "prompt", contactsDuringPrime: "ignore", leastContactMicros: 2 },
  {
    strokes: 2,
    cadence: "prompt",
    guardBudgetStrokes: 2,
    guardPeriodMicros: 5,
    closedMicros: 0,
    openMicros: 0,
  },
  { cadence: "prompt", stuckMicros: 3, silentMicros: 4, longestPrimeMicros: 1 },
];

test.each(CASES)("%o: no input, at any moment, on time or late, leads out of the sound states", (change) => {
  const settings = sound({ ...SMALL, ...change });
  const seen = new Set<string>();
  let layer = [canonical(newState(settings, NOW))];
  let depth = 0;
  let steps = 0;
  while (layer.length > 0 && seen.size < STATES_MOST) {
    const next: State[] = [];
    for (const before of layer) {
      for (const kind of KINDS) {
        for (const gap of GAPS) {
          const after = copyState(before);
          stepInPlace(after, { kind, atMicros: NOW + gap, cause: "flow" });
          steps += 1;
          const fault = faultOf(before, after, kind);
          if (fault !== "")
            throw new Error(
              `${fault}: ${kind} after ${gap} µs\n${JSON.stringify(before)}\n${JSON.stringify(after)}`,
            );
          const state = canonical(after);
          const key = Object.values({ ...state, settings: "" }).join();
          if (seen.has(key)) continue;
          seen.add(key);
          next.push(state);
        }
      }
    }
    layer = next;
    depth += 1;
  }
  expect(steps).toBeGreaterThan(1_000);
  const reach = layer.length === 0 ? "sequences of any length" : `sequences of up to ${depth} inputs`;
  console.log(
    `${settings.strokes}:${settings.contacts} ${settings.cadence}: ${seen.size} states, ${steps} steps, ${reach}`,
  );
});

/** The laws that one step can break, written as a bare comparison of before and after. */
function faultOf(before: State, s: State, kind: string): string {
  const { leastSpacingMicros, graceMicros, longestPrimeMicros, owedLimitStrokes, strokes, contacts } =
    s.settings;
  const paced = s.paced - before.paced;
  const primed = s.primed - before.primed;
  const shed = s.shedLimit + s.shedStill + s.shedHold + s.shedInhibit + s.shedTrip;
  const wasStopped = before.held + before.inhibits + before.tripped > 0;
  const isStopped = s.held + s.inhibits + s.tripped > 0;
  if (paced + primed > 1) return "two strokes in one step";
  if (paced + primed === 1) {
    if (s.nowMicros - before.strokeMicros < leastSpacingMicros) return "cap";
    if (wasStopped && isStopped) return "silence";
  }
  if (
    paced === 1 &&
    s.nowMicros - s.contactMicros > graceMicros &&
    s.nowMicros - before.contactMicros > graceMicros
  )
    return "still water";
  if (primed === 1 && s.nowMicros - (before.priming ? before : s).primeSinceMicros > longestPrimeMicros)
    return "longest prime";
  if (primed === 1 && !before.priming && kind !== "prime-on") return "a primed stroke without a press";
  if (s.earned !== s.paced + s.owed + shed) return "balance";
  if (
    (s.earned - before.earned) * contacts + s.remainder - before.remainder !==
    (s.counted - before.counted) * strokes
  )
    return "proportion";
  if (s.owed > owedLimitStrokes) return "debt";
  if (isStopped && (s.owed > 0 || s.priming > 0)) return "something is kept through a stop";
  if (s.wakeAtMicros <= s.nowMicros) return "a wake-up that is not later";
  return "";
}

/** The state as if it were NOW, without tallies, ages cut off. */
function canonical(after: State): State {
  const s = copyState(after);
  const shift = NOW - s.nowMicros;
  const past = (micros: number): number => Math.max(micros + shift, NOW - OLDEST);
  const future = (micros: number): number => (micros === NO_WAKE ? NO_WAKE : micros + shift);
  s.nowMicros = NOW;
  s.wakeAtMicros = future(s.wakeAtMicros);
  s.deadlineMicros = future(s.deadlineMicros);
  s.lineSinceMicros = past(s.lineSinceMicros);
  s.contactMicros = past(s.contactMicros);
  s.listenMicros = past(s.listenMicros);
  s.strokeMicros = past(s.strokeMicros);
  s.intervalMicros = Math.min(s.intervalMicros, OLDEST);
  s.planMicros = s.owed > 0 ? past(s.planMicros) : NOW;
  if (s.owed === 0) {
    s.planStepMicros = 0;
    s.planStepRest = 0;
    s.planParts = 1;
    s.planCarry = 0;
  }
  s.primeSinceMicros = s.priming ? past(s.primeSinceMicros) : NOW;
  const isFull = s.guardFullMicros < after.nowMicros;
  s.guardFullRest = isFull ? 0 : s.guardFullRest;
  s.guardFullMicros = isFull ? NOW : s.guardFullMicros + shift;
  s.raised = 0;
  s.cleared = 0;
  s.counted = s.ignored = s.rejected = s.bounces = s.paced = s.primed = s.refused = 0;
  s.shedLimit = s.shedStill = s.shedHold = s.shedInhibit = s.shedTrip = s.shedPower = 0;
  s.earned = s.owed;
  return s;
}
