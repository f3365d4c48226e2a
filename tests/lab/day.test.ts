/**
 * The lab's day is the library's day: the same strokes, accounts and concentrations as by the other ways there are.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { extremesOf } from "../../harness/lab/bins.js";
import { doseErrorOf, runDay, straightAt, valueAt } from "../../harness/lab/day.js";
import { downstreamOf } from "../../harness/lab/downstream.js";
import { contactsOf, flowAt, litresOf, PATTERNS, stretchesOf } from "../../harness/lab/patterns.js";
import { fromSi, newPipe, numberIn, strokesPerContact, strokeVolumeOf } from "../../lib/dosing/index.js";
import { DAY, MINUTE, SECOND } from "../../lib/pacing/index.js";
import { instantSorter, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { anyPresses, anyTexts, valuesOf } from "./texts.js";
import { runs } from "../support/runs.js";

const RUNS = { numRuns: runs(40) };

function traceOf(
  values: ReturnType<typeof valuesOf>,
  presses: readonly { onMicros: number; offMicros: number }[],
) {
  const trace: TraceEvent[] = [];
  const run = runModel(values.settings, (event) => trace.push(event));
  const sorter = instantSorter((event) => {
    run.give(event);
  });
  const stimulus: StimulusEvent[] = [
    ...values.contacts.map((atMicros): StimulusEvent => ({ kind: "contact", atMicros })),
    ...presses.flatMap(({ onMicros, offMicros }): StimulusEvent[] => [
      { kind: "prime-on", atMicros: onMicros },
      { kind: "prime-off", atMicros: offMicros },
    ]),
  ].sort((a, b) => a.atMicros - b.atMicros);
  for (const event of stimulus) sorter.take(event);
  sorter.end();
  run.end(DAY);
  return { trace, end: run.state };
}

describe("a day", () => {
  test("makes the strokes, sheds and accounts that the device of the harness makes of the same stimulus", () => {
    fc.assert(
      fc.property(anyTexts, anyPresses, (texts, presses) => {
        const values = valuesOf(texts);
        const day = runDay(values.settings, values.contacts, presses);
        const { trace, end } = traceOf(values, presses);
        const strokes = trace.filter(({ kind }) => kind === "paced" || kind === "primed");
        expect(day.end).toEqual(end);
        expect([...day.strokeMicros]).toEqual(strokes.map(({ atMicros }) => atMicros));
        expect([...day.strokePrimed]).toEqual(strokes.map(({ kind }) => (kind === "primed" ? 1 : 0)));
        expect(day.shed.map((one) => ({ kind: "shed", ...one }))).toEqual(
          trace.filter(({ kind }) => kind === "shed"),
        );
        const owed = trace.flatMap((event) => (event.kind === "status" ? [event] : []));
        expect(day.mostOwed).toBe(Math.max(0, ...owed.map((event) => event.owed)));
      }),
      RUNS,
    );
  });

  test("takes a press and a contact of one microsecond in the documented order", () => {
    const values = valuesOf({ pattern: "steady", peak: "20 L/min", cadence: "prompt" });
    const [atMicros = 0] = values.contacts;
    const presses = [{ onMicros: atMicros, offMicros: atMicros + SECOND }];
    const day = runDay(values.settings, values.contacts, presses);
    const { trace } = traceOf(values, presses);
    const first = trace.flatMap(({ kind }) => (kind === "paced" || kind === "primed" ? [kind] : []))[0];
    expect([first, day.strokePrimed[0]]).toEqual(["paced", 0]);
  });

  test("shows a dose error that stays within one stroke less what is owed, shed and primed", () => {
    fc.assert(
      fc.property(anyTexts, (texts) => {
        const values = valuesOf(texts);
        const day = runDay(values.settings, values.contacts);
        const { strokes, contacts } = values.settings;
        const error = doseErrorOf(day, strokes / contacts);
        const gone = (atMicros: number): number =>
          day.shed.reduce((sum, one) => sum + (one.atMicros <= atMicros ? one.strokes : 0), 0);
        error.micros.forEach((atMicros, place) => {
          if (atMicros === error.micros[place + 1]) return;
          const left = (error.value[place] as number) + valueAt(day.owed, atMicros) + gone(atMicros);
          expect(left).toBeGreaterThan(-1);
          expect(left).toBeLessThan(1e-9);
        });
      }),
      RUNS,
    );
  });

  test("tells prime apart, and stops it at its longest", () => {
    const values = valuesOf({ pattern: "school", cap: "60", "longest-prime": "20 s" });
    const day = runDay(values.settings, values.contacts, [
      { onMicros: 1_000 * SECOND, offMicros: 1_100 * SECOND },
    ]);
    const primed = [...day.strokeMicros].filter((_, place) => day.strokePrimed[place] === 1);
    // One with the press and one at the very end: the longest hold is a closed interval.
    expect(primed).toEqual(Array.from({ length: 21 }, (_, k) => (1_000 + k) * SECOND));
  });
});

describe("downstream", () => {
  test("gives the concentration that the pipe of the dosing layer has at that moment", () => {
    fc.assert(
      fc.property(anyTexts, fc.integer({ min: 1, max: DAY }), (texts, atMicros) => {
        const values = valuesOf(texts);
        const { strokeMicros } = runDay(values.settings, values.contacts);
        const { input, mixingVolume, stretches } = values;
        const pipe = newPipe({
          mixingVolume,
          tanks: 1,
          strokeMass: fromSi("mass", strokeVolumeOf(input.stroke).si.mul(input.strength.si)),
          wanted: input.dose,
          start: input.dose,
        });
        const turns = [
          ...stretches.map((one) => ({ atMicros: one.fromMicros, flow: one.litresPerMinute / 60 })),
          ...[...strokeMicros].map((micros) => ({ atMicros: micros, flow: undefined })),
        ];
        for (const turn of turns.sort((a, b) => a.atMicros - b.atMicros)) {
          if (turn.atMicros > atMicros) break;
          if (turn.flow === undefined) pipe.stroke(turn.atMicros);
          else pipe.flow(turn.atMicros, turn.flow);
        }
        pipe.advance(atMicros);
        // Between samples at most 6/32 of a turnover apart a line strays from an e-curve by no more than 0.45 %; what is
        // left after six turnovers is too little to see beside the dose.
        const drawn = straightAt(downstreamOf(values, strokeMicros).curve, atMicros);
        const scale = Math.max(pipe.mgPerLitre, numberIn(input.dose, "mg/L"));
        expect(Math.abs(drawn - pipe.mgPerLitre) / scale).toBeLessThan(0.0045);
      }),
      RUNS,
    );
  });

  test("loses no mass: what was there and was fed is out or held", () => {
    const values = valuesOf({});
    const { figures } = downstreamOf(values, runDay(values.settings, values.contacts).strokeMicros);
    const { startMg, fedMg, outMg, heldMg } = figures.balance;
    expect(outMg + heldMg).toBeCloseTo(startMg + fedMg, 6);
    expect(figures.litres).toBeCloseTo(litresOf(values.stretches), 6);
  });
});

describe("patterns", () => {
  test.each(PATTERNS.map(({ name }) => name))(
    "%s fills the day without a gap and reaches the highest flow",
    (name) => {
      const stretches = stretchesOf(name, 60) ?? [];
      expect(stretches.map(({ fromMicros }) => fromMicros)).toEqual([
        0,
        ...stretches.slice(0, -1).map(({ untilMicros }) => untilMicros),
      ]);
      expect(stretches.at(-1)?.untilMicros).toBe(DAY);
      expect(Math.max(...stretches.map(({ litresPerMinute }) => litresPerMinute))).toBe(60);
      expect(stretches).toEqual(stretchesOf(name, 60));
    },
  );

  test("a contact closes each time a contact volume has passed, and not once more", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...PATTERNS.map(({ name }) => name)),
        fc.integer({ min: 3, max: 300 }),
        (name, litres) => {
          const stretches = stretchesOf(name, 60) ?? [];
          const contacts = contactsOf(stretches, litres);
          expect(contacts.length).toBe(Math.floor(litresOf(stretches) / litres + 1e-9));
          const passed = (atMicros: number): number =>
            litresOf(
              stretches
                .filter(({ fromMicros }) => fromMicros < atMicros)
                .map((one) => ({ ...one, untilMicros: Math.min(one.untilMicros, atMicros) })),
            );
          contacts.forEach((atMicros, k) => {
            if (k % 50 === 0) expect(passed(atMicros)).toBeCloseTo((k + 1) * litres, 4);
          });
        },
      ),
      { numRuns: 30 },
    );
  });

  test("the flow at a moment is that of its stretch", () => {
    const stretches = stretchesOf("tank", 60) ?? [];
    expect([0, 30 * MINUTE, 66 * MINUTE, DAY].map((micros) => flowAt(stretches, micros))).toEqual([
      0, 60, 0, 0,
    ]);
  });
});

test("bins keep the lowest and the highest of a track, wherever they stand", () => {
  const track = {
    micros: Float64Array.of(0, MINUTE, 4 * MINUTE, 4 * MINUTE + 1),
    value: Float64Array.of(1, 7, -3, 2),
  };
  const { low, high } = extremesOf(track);
  expect([...low.slice(0, 3)]).toEqual([1, -3, 2]);
  expect([...high.slice(0, 3)]).toEqual([7, 7, 2]);
});

test("the worth of a contact is the plan's", () => {
  const { input } = valuesOf({});
  const duty = { ...input, strokeVolume: strokeVolumeOf(input.stroke) };
  expect(strokesPerContact(duty).toFraction()).toBe("3/2");
  expect(numberIn(input.dose, "mg/L")).toBe(1.2);
});
