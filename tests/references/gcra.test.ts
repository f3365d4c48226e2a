/**
 * Do the guard and the rate cap decide as the Generic Cell Rate Algorithm does?
 *
 * Both forms are written here anew from the published flow chart, in whole numbers of 1/budget µs. Sources: ITU-T
 * Recommendation I.371, Traffic control and congestion control in B-ISDN, annex A; read in two public restatements:
 * lecture 17 on the GCRA, Rensselaer Polytechnic Institute (id `gcra-rule`), and a flow chart of both forms,
 * "Leaky Bucket Algorithm", cdn.slideserve.com/wan. The Recommendation itself was not read.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { admitStroke, DAY, type GuardBucket, type GuardTerms, MINUTE } from "../../lib/pacing/index.js";
import { at, contacts, run, strokeTimes, valid } from "../pacing/kit.js";

/** GCRA(I, L): increment and limit, and the arrivals, all in one unit of time. */
type Form = (increment: bigint, limit: bigint) => (arrival: bigint) => boolean;

const virtualScheduling: Form = (increment, limit) => {
  let theoretical: bigint | undefined;
  return (arrival) => {
    theoretical ??= arrival;
    if (theoretical < arrival) theoretical = arrival;
    else if (theoretical > arrival + limit) return false;
    theoretical += increment;
    return true;
  };
};

const leakyBucket: Form = (increment, limit) => {
  let level = 0n;
  let lastConforming: bigint | undefined;
  return (arrival) => {
    lastConforming ??= arrival;
    const drained = level - (arrival - lastConforming);
    if (drained > limit) return false;
    level = (drained < 0n ? 0n : drained) + increment;
    lastConforming = arrival;
    return true;
  };
};

const FORMS: readonly (readonly [string, Form])[] = [
  ["virtual scheduling", virtualScheduling],
  ["leaky bucket", leakyBucket],
];

function ours(terms: GuardTerms, firstMicros: number): (atMicros: number) => boolean {
  const bucket: GuardBucket = { guardFullMicros: firstMicros, guardFullRest: 0 };
  return (atMicros) => admitStroke(bucket, terms, atMicros);
}

// Derived, not published: computed from the published algorithm, both forms agreeing. No published trace was found.
const TRACES = [
  {
    id: "gcra-trace-a",
    increment: 10,
    limit: 5,
    arrivals: [0, 3, 5, 15, 20, 25, 40, 41, 46, 50],
    conforming: [1, 0, 1, 1, 0, 1, 1, 0, 1, 0],
  },
  {
    id: "gcra-trace-b",
    increment: 10,
    limit: 0,
    arrivals: [0, 10, 19, 20, 29, 30, 45, 54, 55],
    conforming: [1, 1, 0, 1, 0, 1, 1, 0, 1],
  },
  {
    id: "gcra-trace-c",
    increment: 10,
    limit: 25,
    arrivals: [0, 1, 2, 3, 4, 14, 24, 25, 60, 61, 62, 63],
    conforming: [1, 1, 1, 0, 0, 1, 1, 1, 1, 1, 1, 0],
  },
] as const;

describe.each(TRACES)("$id: GCRA($increment, $limit)", ({ increment, limit, arrivals, conforming }) => {
  test.each(FORMS)("the %s form gives the trace", (_, form) => {
    const admit = form(BigInt(increment), BigInt(limit));
    expect(arrivals.map((arrival) => Number(admit(BigInt(arrival))))).toEqual(conforming);
  });

  test("the guard gives the trace", () => {
    const terms: GuardTerms = {
      guardBudgetStrokes: 1,
      guardIntervalMicros: increment,
      guardIntervalRest: 0,
      guardToleranceMicros: limit,
      guardToleranceRest: 0,
    };
    const admit = ours(terms, 0);
    expect(arrivals.map((arrival) => Number(admit(arrival)))).toEqual(conforming);
  });
});

/** An arrival after the last: by a free gap, or a few µs around the moment at which the guard would let one pass. */
const ARRIVAL = fc.oneof(
  fc.record({ gapMicros: fc.oneof(fc.constant(0), fc.nat(3), fc.nat(1_000_000)) }),
  fc.record({ aroundMicros: fc.integer({ min: -2, max: 2 }) }),
);

test("the guard admits exactly what both forms admit, for any period, budget, burst and arrivals", () => {
  const terms = fc.record({
    guardPeriodMicros: fc.oneof(fc.integer({ min: 1, max: 1_000 }), fc.integer({ min: 1, max: DAY })),
    guardBudgetStrokes: fc.oneof(fc.integer({ min: 1, max: 12 }), fc.integer({ min: 1, max: 65_535 })),
    guardBurstStrokes: fc.oneof(fc.integer({ min: 1, max: 12 }), fc.integer({ min: 1, max: 65_535 })),
  });
  const seen = { refused: 0, notWhole: 0 };
  fc.assert(
    fc.property(
      terms,
      fc.nat(1_000_000),
      fc.array(ARRIVAL, { size: "+1" }),
      (guard, firstMicros, arrivals) => {
        // In units of 1/budget µs the interval and the tolerance are whole.
        const budget = BigInt(guard.guardBudgetStrokes);
        const increment = BigInt(guard.guardPeriodMicros);
        const limit = BigInt(guard.guardBurstStrokes - 1) * increment;
        if (increment % budget !== 0n) seen.notWhole += 1;
        const admits = FORMS.map(([, form]) => form(increment, limit));
        const guarded = ours(valid(guard), firstMicros);
        let theoretical = BigInt(firstMicros) * budget;
        let nowMicros = firstMicros;
        for (const arrival of [{ gapMicros: 0 }, ...arrivals]) {
          if ("gapMicros" in arrival) nowMicros += arrival.gapMicros;
          else {
            const edge = Number((theoretical - limit) / budget) + arrival.aroundMicros;
            if (edge > nowMicros) nowMicros = edge;
          }
          const now = BigInt(nowMicros) * budget;
          const published = admits.map((admit) => admit(now));
          const admitted = guarded(nowMicros);
          expect([admitted, ...published]).toEqual([admitted, admitted, admitted]);
          if (admitted) theoretical = (theoretical > now ? theoretical : now) + increment;
          else seen.refused += 1;
        }
      },
    ),
    { numRuns: 2_000 },
  );
  expect(seen.refused).toBeGreaterThan(1_000);
  expect(seen.notWhole).toBeGreaterThan(500);
});

test("the pacer trips at the first stroke that the published algorithm refuses, and not before", () => {
  // 5 strokes per 1,001 µs, 3 at once: an interval of 200.2 µs.
  const settings = valid({
    leastSpacingMicros: 1,
    cadence: "prompt",
    guardBudgetStrokes: 5,
    guardPeriodMicros: 1_001,
    guardBurstStrokes: 3,
  });
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 1, max: 400 }), { minLength: 1 }), (gaps) => {
      let atMicros = 0;
      const inputs = gaps.map((gap) => at((atMicros += gap)));
      const { effects, state } = run(settings, inputs, atMicros);
      const admit = virtualScheduling(1_001n, 2_002n);
      const decisions = inputs.map((input) => admit(BigInt(input.atMicros * 5)));
      const first = decisions.indexOf(false);
      expect(strokeTimes(effects)).toEqual(
        inputs.slice(0, first < 0 ? inputs.length : first).map((input) => input.atMicros),
      );
      expect(state.tripped).toBe(first < 0 ? 0 : 1);
    }),
  );
});

describe("the rate cap is GCRA(I, 0)", () => {
  test("every stroke of a busy pacer conforms in both forms, in either cadence", () => {
    const gaps = fc.array(fc.integer({ min: 0, max: 3_000 }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(
        gaps,
        fc.integer({ min: 1, max: 1_500 }),
        fc.constantFrom("spread", "prompt"),
        (all, I, cadence) => {
          let atMicros = 0;
          const inputs = all.map((gap) => at((atMicros += gap)));
          const settings = valid({ leastSpacingMicros: I, cadence, strokes: 3, contacts: 2 });
          const strokes = strokeTimes(run(settings, inputs, atMicros + 1_000_000).effects);
          for (const [name, form] of FORMS) {
            const admit = form(BigInt(I), 0n);
            const refused = strokes.filter((stroke) => !admit(BigInt(stroke)));
            expect({ name, refused }).toEqual({ name, refused: [] });
          }
        },
      ),
    );
  });

  test("a stroke that is asked for is made at once where the algorithm lets it, else as soon as it does", () => {
    const gaps = fc.array(fc.integer({ min: 0, max: 30 }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(gaps, fc.integer({ min: 1, max: 20 }), (all, I) => {
        let atMicros = 0;
        const inputs = all.map((gap) => at((atMicros += gap)));
        const settings = valid({ leastSpacingMicros: I, cadence: "prompt", owedLimitStrokes: 100 });
        const admit = leakyBucket(BigInt(I), 0n);
        let tried = 0;
        const expected = inputs.map((input) => {
          if (input.atMicros > tried) tried = input.atMicros;
          while (!admit(BigInt(tried))) tried += 1;
          return tried;
        });
        expect(strokeTimes(run(settings, inputs, atMicros + 10_000).effects)).toEqual(expected);
      }),
    );
  });

  test("exactly one interval apart is allowed: a saturated pacer keeps to it", () => {
    const settings = valid({ leastSpacingMicros: 700, cadence: "prompt", owedLimitStrokes: 50 });
    const strokes = strokeTimes(run(settings, contacts(20, 100), 1_000_000).effects);
    expect(strokes).toEqual(Array.from({ length: 20 }, (_, i) => 100 + 700 * i));
  });

  // Id `gcra-interval-for-cap`, derived: I = 60 000 / 180 = 333.333 ms. Whole microseconds must round it up.
  test.each([
    { leastSpacingMicros: 333_334, inAMinute: 180 },
    { leastSpacingMicros: 333_333, inAMinute: 181 },
  ])(
    "180 strokes a minute need a spacing of 333,334 µs: $leastSpacingMicros",
    ({ leastSpacingMicros, inAMinute }) => {
      const settings = valid({ leastSpacingMicros, cadence: "prompt", owedLimitStrokes: 1_000 });
      const strokes = strokeTimes(run(settings, contacts(400, 200_000), 2 * MINUTE).effects);
      const first = strokes[0] as number;
      expect(strokes.filter((atMicros) => atMicros <= first + MINUTE - 1).length).toBe(inAMinute);
    },
  );
});
