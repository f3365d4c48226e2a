/**
 * Every sequence of inputs, up to a stated depth, for small ratios and limits: nothing sampled, nothing skipped.
 *
 * The limits are a few microseconds, so that every two of them can meet within a few inputs: a contact at the very end
 * of the grace, a release at the longest hold, a stroke and a stop in one microsecond.
 */
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { judgeTrace } from "../../lib/laws/index.js";
import type { SettingsInput } from "../../lib/pacing/index.js";
import { formatRow, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

const DEPTH = Number(process.env["TALLYSTROKE_DEPTH"] ?? 3);

/** What can happen, each after no time and after two microseconds. */
const MOVES: readonly ((atMicros: number) => readonly StimulusEvent[])[] = [
  (atMicros) => [{ kind: "contact", atMicros }],
  (atMicros) => [{ kind: "close", atMicros }],
  (atMicros) => [{ kind: "open", atMicros }],
  (atMicros) => [{ kind: "prime-on", atMicros }],
  (atMicros) => [{ kind: "prime-off", atMicros }],
  (atMicros) => [{ kind: "hold-on", atMicros }],
  (atMicros) => [{ kind: "hold-off", atMicros }],
  (atMicros) => [{ kind: "inhibit-on", atMicros, cause: "flow" }],
  (atMicros) => [{ kind: "inhibit-off", atMicros, cause: "flow" }],
  (atMicros) => [{ kind: "reset", atMicros }],
  (atMicros) => [
    { kind: "power-off", atMicros },
    { kind: "power-on", atMicros: atMicros + 1, darkKnown: true },
  ],
];
const GAPS = [0, 2];

const SMALL: SettingsInput = {
  strokes: 1,
  contacts: 1,
  leastSpacingMicros: 2,
  graceMicros: 5,
  owedLimitStrokes: 3,
  longestPrimeMicros: 3,
  closedMicros: 1,
  openMicros: 1,
  stuckMicros: 4,
  silentMicros: 6,
  guardBudgetStrokes: 3,
  guardPeriodMicros: 7,
  guardBurstStrokes: 3,
};

const CASES: readonly Partial<SettingsInput>[] = [
  { strokes: 3, contacts: 2, cadence: "spread" },
  { strokes: 2, contacts: 1, cadence: "prompt", contactsDuringPrime: "ignore", guardBudgetStrokes: 0 },
  { strokes: 1, contacts: 2, cadence: "spread", leastContactMicros: 3 },
];

test.each(CASES)("%o: the laws hold on every sequence of inputs", (change) => {
  const settings = sound({ ...SMALL, ...change });
  let sequences = 0;
  const play = (moves: readonly StimulusEvent[]): void => {
    const judgement = judgeTrace(settings, { startRemainder: 0 });
    const run = runModel(settings, judgement.see);
    for (const event of moves) run.give(event);
    run.end((moves.at(-1)?.atMicros ?? 0) + 20);
    sequences += 1;
    if (judgement.verdicts().some(({ answer }) => answer === "broken")) tellBroken(moves);
  };
  const tellBroken = (moves: readonly StimulusEvent[]): never => {
    const trace: TraceEvent[] = [];
    const judgement = judgeTrace(settings, { startRemainder: 0 });
    const run = runModel(settings, (event) => {
      trace.push(event);
      judgement.see(event);
    });
    for (const event of moves) run.give(event);
    run.end((moves.at(-1)?.atMicros ?? 0) + 20);
    const broken = judgement.verdicts().filter(({ answer }) => answer === "broken");
    throw new Error(`${JSON.stringify(broken)}\n${trace.map(formatRow).join("\n")}`);
  };
  const extend = (moves: readonly StimulusEvent[], atMicros: number, depth: number): void => {
    if (depth === 0) {
      play(moves);
      return;
    }
    for (const gap of GAPS) {
      for (const move of MOVES) {
        const next = move(atMicros + gap);
        extend(moves.concat(next), next.at(-1)?.atMicros ?? 0, depth - 1);
      }
    }
  };

  // A sequence of full depth plays all its beginnings on the way.
  extend([], 10, DEPTH);
  expect(sequences).toBe((GAPS.length * MOVES.length) ** DEPTH);
  console.log(
    `${sequences} sequences of ${DEPTH} inputs, at ${settings.strokes}:${settings.contacts} ${settings.cadence}`,
  );
});
