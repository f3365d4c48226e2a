/**
 * Does the pacer behave as regulators' rules ask, and would a reported overfeed have happened with it?
 *
 * Each rule names its source and id. The Wisconsin rules were read in the state's own publication; for the others see
 * the source that the id names. What a rule means for a pacer is our reading.
 */
import { describe, expect, test } from "vitest";
import { type Input, restoreSnapshot, SECOND, type State, takeSnapshot } from "../../lib/pacing/index.js";
import { at, contacts, run, strokeTimes, valid } from "../pacing/kit.js";

const TERMS = { strokes: 2, contacts: 1, leastSpacingMicros: 100_000 };

/** Contacts from second `from` to second `to`, one a second. */
function flow(from: number, to: number): Input[] {
  return Array.from({ length: to - from + 1 }, (_, i) => at((from + i) * SECOND));
}

const CADENCES = [{ cadence: "spread" }, { cadence: "prompt" }] as const;

// 35 Ill. Adm. Code 604.1105(b)(1), (c) (Illinois, 2024; id `rule-il-proportional`): the feeder cannot run unless the
// well or service pump runs. Wis. Adm. Code NR 811.34(5) (id `rule-wi-flow-pacing`): in series with the pump's starter, in
// addition to pacing by a meter. NR 812.37(4)(e)4 (id `rule-wi-flow-switch`): interlocked with a flow switch in series.
describe.each(CADENCES)("no permission, no stroke ($cadence)", ({ cadence }) => {
  const offMicros = 5 * SECOND + 1;
  const onMicros = 20 * SECOND + 500_000;
  const inputs: Input[] = [
    ...flow(1, 5),
    { kind: "inhibit-on", atMicros: offMicros, cause: "permission" },
    ...flow(6, 20),
    { kind: "inhibit-off", atMicros: onMicros, cause: "permission" },
    ...flow(40, 42),
  ];
  const { effects, state } = run(valid({ ...TERMS, cadence }), inputs, 60 * SECOND);
  const strokes = strokeTimes(effects);

  test("before permission is withdrawn there are strokes", () => {
    expect(strokes.filter((t) => t < offMicros).length).toBeGreaterThanOrEqual(8);
  });

  test("while it is withdrawn the meter alone makes none", () => {
    expect(strokes.filter((t) => t >= offMicros && t < onMicros)).toEqual([]);
  });

  test("after it comes back nothing is released until water passes again", () => {
    expect(strokes.filter((t) => t >= onMicros && t < 40 * SECOND)).toEqual([]);
    expect(strokes.filter((t) => t >= 40 * SECOND).length).toBe(6);
  });

  test("every stroke that was earned meanwhile is accounted for as shed", () => {
    const { earned, paced, shedInhibit, owed } = state;
    expect({ earned, paid: paced + shedInhibit, owed }).toEqual({ earned: 46, paid: 46, owed: 0 });
  });
});

// 35 Ill. Adm. Code 604.1105(b)(1): feed proportional to flow.
test("no flow, no stroke: without contacts a day passes in silence", () => {
  expect(strokeTimes(run(valid(TERMS), [], 86_400 * SECOND).effects)).toEqual([]);
});

// 15A NCAC 18C .0404(c)(1) (North Carolina; id `rule-nc-interruption`): an interruption of the circuit must cause neither
// over- nor underfeed.
describe("a power cut", () => {
  const settings = valid({ ...TERMS, graceMicros: 30 * SECOND });

  /** Two strokes owed, one of them made, when the power goes half a second after a contact. */
  function cutShort(): Readonly<State> {
    const { state } = run(settings, contacts(3), 3 * SECOND + 500_000);
    return run(state, [at(3 * SECOND + 500_000, "wake")], 3 * SECOND + 500_000).state;
  }

  function restart(darkMicros: number): readonly [Readonly<State>, number[]] {
    const restored = restoreSnapshot(settings, takeSnapshot(cutShort()), 0, darkMicros);
    if (!restored.ok) throw new Error(restored.refusal);
    const { state, effects } = run(restored.state, [], 100 * SECOND);
    return [state, strokeTimes([...restored.effects, ...effects])];
  }

  test("shorter than the still-water grace loses no stroke: no underfeed", () => {
    expect(cutShort().owed).toBe(1);
    const [state, strokes] = restart(10 * SECOND);
    expect(strokes.length).toBe(1);
    expect([state.earned, state.paced, state.shedPower]).toEqual([6, 6, 0]);
  });

  test.each([
    { name: "longer than the grace", darkMicros: 40 * SECOND },
    { name: "of unknown length", darkMicros: -1 },
  ])("$name releases no backlog: no overfeed", ({ darkMicros }) => {
    const [state, strokes] = restart(darkMicros);
    expect(strokes).toEqual([]);
    expect([state.earned, state.paced, state.shedPower]).toEqual([6, 5, 1]);
  });
});

// OWASA, 2 February 2017, as reported by INDY Week and the News & Observer, 10 February 2017 (id `incident-owasa`): one key
// press too many asked for 80 % where 8 to 12 % is usual, and the correction was not obeyed for 3.25 h.
describe("one key press too many in a set point", () => {
  const usual = valid({ strokes: 8, contacts: 100 });
  const mistaken = valid({ strokes: 80, contacts: 100 });
  const change = (atMicros: number, settings: typeof usual, confirmed: boolean): Input => {
    return { kind: "settings", atMicros, settings, confirmed };
  };

  test("is refused and alarmed, and the feed goes on as it was", () => {
    const inputs = [...flow(1, 100), change(100 * SECOND + 1, mistaken, false), ...flow(101, 200)];
    const { effects, state } = run(usual, inputs, 201 * SECOND);
    expect(state.earned).toBe(16);
    expect(effects.filter(({ kind }) => kind === "refused" || kind === "alarm-on")).toEqual([
      { kind: "refused", atMicros: 100 * SECOND + 1 },
      { kind: "alarm-on", atMicros: 100 * SECOND + 1, alarm: "change-refused" },
    ]);
  });

  test("within the usual band, 8 to 12 %, needs no confirmation", () => {
    const inputs = [change(SECOND, valid({ strokes: 12, contacts: 100 }), false), ...flow(2, 101)];
    expect(run(usual, inputs, 102 * SECOND).state.earned).toBe(12);
  });

  test("is taken where a person confirms it, and a lowered set point is obeyed from the next contact", () => {
    const inputs = [
      change(SECOND, mistaken, true),
      ...flow(2, 101),
      change(101 * SECOND + 1, usual, false),
      ...flow(102, 201),
    ];
    const { effects } = run(usual, inputs, 202 * SECOND);
    const counted = effects.flatMap((effect) => (effect.kind === "counted" ? [effect] : []));
    const earnedBetween = (from: number, to: number): number => {
      return counted
        .filter(({ atMicros }) => atMicros >= from * SECOND && atMicros <= to * SECOND)
        .reduce((sum, { earned }) => sum + earned, 0);
    };
    expect(earnedBetween(2, 101)).toBe(80);
    expect(earnedBetween(102, 201)).toBe(8);
  });
});
