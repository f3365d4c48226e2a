/**
 * The pipe against the closed forms of the tanks-in-series model, and against a general-purpose ODE solver.
 *
 * Sources: O. Levenspiel, Chemical Reaction Engineering, 3rd ed., Wiley, 1999, chapter 14, p. 322 ff.: pulse response
 * E, step response F (p. 327), variance 1/N, first-order conversion 1/(1 + kτ/N)^N (page numbers from restatements).
 * First published by R. B. MacMullin, M. Weber, Transactions of the AIChE 31, 1935, pp. 409-458. Values of E and F are
 * worked out here from those formulas. The ODE solver is that of the library mathjs (Runge-Kutta 4/5, adaptive).
 */
import { all, create } from "mathjs";
import { expect, test } from "vitest";
import { newPipe, type Pipe, type PipeTerms } from "../../../lib/dosing/pipe.js";
import { quantity } from "../../../lib/dosing/quantity.js";

const LITRES = 60;
/** At 1 L/s the mean residence time is 60 s, so a pulse of 60 mg has a concentration of E_θ mg/L. */
const TERMS: Omit<PipeTerms, "tanks"> = {
  mixingVolume: quantity("volume", LITRES, "L"),
  strokeMass: quantity("mass", LITRES, "mg"),
  wanted: quantity("dose", 1, "mg/L"),
};
const COUNTS = [1, 2, 3, 5, 10, 20, 50];
const THETAS = [0.05, 0.25, 0.5, 0.9, 1, 1.1, 1.5, 2, 4];

function factorial(n: number): number {
  return n < 2 ? 1 : n * factorial(n - 1);
}

function running(terms: PipeTerms): Pipe {
  const pipe = newPipe(terms);
  pipe.flow(0, 1);
  return pipe;
}

test.each(COUNTS)("pulse response of %i tanks: E = N (Nθ)^(N−1)/(N−1)! · e^(−Nθ)", (tanks) => {
  for (const theta of THETAS) {
    const pipe = running({ ...TERMS, tanks });
    pipe.stroke(0);
    pipe.advance(theta * LITRES * 1_000_000);
    const x = tanks * theta;
    const expected = ((tanks * x ** (tanks - 1)) / factorial(tanks - 1)) * Math.exp(-x);
    expect(Math.abs(pipe.mgPerLitre - expected)).toBeLessThanOrEqual(expected * 1e-11);
  }
});

test.each(COUNTS)(
  "step response of %i tanks: what is washed out is 1 − F, F = 1 − e^(−Nθ) Σ (Nθ)^j/j!",
  (tanks) => {
    for (const theta of THETAS) {
      const pipe = running({ ...TERMS, tanks, start: quantity("dose", 1, "mg/L") });
      pipe.advance(theta * LITRES * 1_000_000);
      const x = tanks * theta;
      let left = 0;
      for (let j = 0; j < tanks; j++) left += (Math.exp(-x) * x ** j) / factorial(j);
      expect(Math.abs(pipe.mgPerLitre - left)).toBeLessThanOrEqual(1e-13);
      // The washed-out mass follows from it too.
      const { outMg, heldMg } = pipe.figures().balance;
      expect(outMg + heldMg).toBeCloseTo(LITRES, 9);
    }
  },
);

test("the first trace of a pulse through ten tanks is exact, not the noise of a difference", () => {
  const pipe = running({ ...TERMS, tanks: 10 });
  pipe.stroke(0);
  pipe.advance(0.001 * LITRES * 1_000_000);
  // F = e^(−x) Σ x^j/j! from j = 10 on, x = Nθ = 0.01; two terms are enough.
  const first = (Math.exp(-0.01) * 0.01 ** 10) / factorial(10);
  const expected = LITRES * first * (1 + 0.01 / 11 + 0.01 ** 2 / 132);
  expect(Math.abs(pipe.figures().balance.outMg / expected - 1)).toBeLessThan(1e-6);
});

test.each(COUNTS)("a pulse through %i tanks has mean τ and variance τ²/N", (tanks) => {
  const pipe = running({ ...TERMS, tanks });
  pipe.stroke(0);
  const [mass, first, second] = [0, 1, 2].map((power) => momentOf({ ...TERMS, tanks }, power)) as [
    number,
    number,
    number,
  ];
  const mean = first / mass;
  expect(mass).toBeCloseTo(LITRES, 3);
  expect(mean / LITRES).toBeCloseTo(1, 4);
  expect(second / mass / mean ** 2 - 1).toBeCloseTo(1 / tanks, 3);
});

/** ∫ C t^power dt of the pulse response, by Simpson's rule. */
function momentOf(terms: PipeTerms, power: number): number {
  const pipe = running(terms);
  pipe.stroke(0);
  const [steps, seconds] = [8_000, 20 * LITRES];
  let sum = 0;
  for (let i = 0; i <= steps; i++) {
    const t = (i * seconds) / steps;
    pipe.advance(t * 1_000_000);
    const weight = i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2;
    sum += weight * pipe.mgPerLitre * t ** power;
  }
  return (sum * seconds) / steps / 3;
}

test("with first-order decay the share that arrives is 1/(1 + kτ/N)^N, the rest has decayed", () => {
  for (const tanks of COUNTS) {
    const pipe = running({ ...TERMS, tanks, decayPerHour: 36 });
    pipe.stroke(0);
    pipe.advance(10_000_000_000);
    const { outMg, decayedMg } = pipe.figures().balance;
    // k τ = 36/h · 60 s = 0.6.
    const arrived = (1 + 0.6 / tanks) ** -tanks;
    expect(outMg / LITRES).toBeCloseTo(arrived, 12);
    expect(decayedMg / LITRES).toBeCloseTo(1 - arrived, 12);
  }
});

test("strokes every 0.5 L into one mixed volume of 20 L leave a ripple of 2.5 %, peak to peak over the mean", () => {
  // Exact periodic solution: highest e/(1 − exp(−e)), lowest exp(−e) of that, e = 0.5/20; their difference is e.
  const ripple = 0.5 / 20;
  const pipe = running({
    ...TERMS,
    mixingVolume: quantity("volume", 20, "L"),
    strokeMass: quantity("mass", "0.5", "mg"),
    tanks: 1,
    countFromMicros: 2_000_000_000,
  });
  for (let stroke = 0; stroke < 5_000; stroke++) pipe.stroke(stroke * 500_000);
  pipe.advance(2_500_000_000);
  const figures = pipe.figures();
  const { peakMgPerLitre: peak = NaN, lowestMgPerLitre: lowest = NaN, meanMgPerLitre: mean = NaN } = figures;
  expect(mean).toBeCloseTo(1, 10);
  expect(peak).toBeCloseTo(ripple / (1 - Math.exp(-ripple)), 10);
  expect((peak - lowest) / mean).toBeCloseTo(ripple, 10);
});

test("time to steady of three tanks from an even feed is two mixing volumes, as 1 − F summed over each says", () => {
  // ∫ (1 − F) dθ from θ on is e^(−3θ)(1 + 2θ + 1.5θ²): short by 0.776 in the first volume, 0.197 in the second, 0.025 in
  // the third; steady is within 0.05.
  const pipe = running({ ...TERMS, tanks: 3, strokeMass: quantity("mass", 1, "mg") });
  for (let second = 0; second < 600; second++) pipe.stroke(second * 1_000_000);
  expect(Math.round((pipe.figures().steadyMicros ?? NaN) / 1_000_000)).toBe(2 * LITRES);
});

/** mathjs has the solver, its type declarations do not. */
type Solve = (
  slope: (t: number, y: number[]) => number[],
  span: [number, number],
  start: number[],
  options: { method: "RK45"; tol: number; maxIter: number },
) => { y: number[][] };

test("flows, strokes and decay in turn: the same concentrations as the ODE solver's", () => {
  const { solveODE } = create(all ?? {}) as unknown as { solveODE: Solve };
  const [tanks, perHour] = [4, 30];
  const pipe = newPipe({ ...TERMS, tanks, decayPerHour: perHour });
  let state = new Array<number>(tanks).fill(0);
  let atMicros = 0;
  const [ours, theirs]: [number[], number[]] = [[], []];
  for (const [litresPerSecond, seconds] of [
    [1, 7],
    [0.2, 45],
    [0, 30],
    [3, 11],
    [0.05, 200],
    [1.7, 40],
  ] as const) {
    pipe.flow(atMicros, litresPerSecond);
    pipe.stroke(atMicros);
    state[0] = (state[0] as number) + tanks;
    const turnovers = (litresPerSecond * tanks) / LITRES;
    const slope = (_: number, y: number[]): number[] =>
      y.map((c, i) => turnovers * ((y[i - 1] ?? 0) - c) - (perHour / 3_600) * c);
    const options = { method: "RK45", tol: 1e-11, maxIter: 100_000 } as const;
    state = solveODE(slope, [0, seconds], state, options).y.at(-1) as number[];
    atMicros += seconds * 1_000_000;
    pipe.advance(atMicros);
    ours.push(pipe.mgPerLitre);
    theirs.push(state.at(-1) as number);
  }
  const furthest = Math.max(...ours.map((one, i) => Math.abs(one - (theirs[i] as number))));
  expect(furthest).toBeLessThan(1e-8);
});
