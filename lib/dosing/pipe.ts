/**
 * Where does the dose go? The concentration at a point downstream, driven by flow and strokes. Dosing layer.
 *
 * A stroke puts its mass into the first of N mixed tanks in an instant; the last tank is the point that is watched.
 * Between events the flow is constant and the tanks follow their closed form (tanks.ts), so the state is exact however
 * long the step. Steps are cut only to look for peaks and crossings. Memory does not grow with the length of the run.
 * It is arithmetic about an idealised pipe: no measurement of any water.
 */
import { type Dose, type Mass, numberIn, type Volume } from "./quantity.js";
import {
  heldMg,
  newPassage,
  newTanks,
  outletAfter,
  pass,
  type Passage,
  prepare,
  type Tanks,
  type Told,
} from "./tanks.js";
import { newWatch, type Watch, type Watched } from "./watch.js";

export interface PipeTerms {
  /** Water between the injection and the point that is watched. */
  readonly mixingVolume: Volume;
  /** How many mixed tanks it acts as, 1 to TANKS_MOST: 1 mixes best, many are plug flow. */
  readonly tanks: number;
  /** First-order decay, per hour; default 0. */
  readonly decayPerHour?: number | undefined;
  /** Disinfectant in one stroke. */
  readonly strokeMass: Mass;
  /** The dose that is wanted at the point. */
  readonly wanted: Dose;
  /** In the mixing volume at the start; default none. */
  readonly start?: Dose | undefined;
  /** Water that passes before this counts for the balance and the time to steady only; default 0. */
  readonly countFromMicros?: number | undefined;
}

/** Mass in = mass out, over the whole run, mg. */
export interface MassBalance {
  readonly startMg: number;
  readonly fedMg: number;
  readonly outMg: number;
  readonly decayedMg: number;
  readonly heldMg: number;
}

export interface PipeFigures extends Watched {
  readonly balance: MassBalance;
}

/** Is told what happens in order of time; a time before the last acts at the last. */
export interface Pipe {
  /** From now on the water flows so, litres a second, 0 or more; 0 at the start. */
  flow(atMicros: number, litresPerSecond: number): void;
  stroke(atMicros: number): void;
  /** Lets time go on. */
  advance(atMicros: number): void;
  /** At the watched point, now. */
  readonly mgPerLitre: number;
  figures(): PipeFigures;
}

/** Steps are cut to this part of a tank's turnover while water flows, so that no peak is stepped over. */
const LOOK_TURNOVERS = 0.25;
/** The curve can turn several times soon after a stroke, however short the time to the next event. */
const LOOKS_AFTER_STROKE = 8;
/** After so many turnovers without an event, beyond one a tank, what is left of it is below 1e-12: no more to see. */
const QUIET_TURNOVERS = 40;

/** Throws a RangeError for terms out of range. */
export function newPipe(terms: PipeTerms): Pipe {
  const run = startRun(terms);
  const { tanks, watch, strokeMgPerLitre } = run;
  const startMg = heldMg(tanks);
  let strokes = 0;
  return {
    flow(atMicros, litresPerSecond) {
      advance(run, atMicros);
      run.litresPerSecond = litresPerSecond;
    },
    stroke(atMicros) {
      advance(run, atMicros);
      strokes += 1;
      run.fresh = true;
      tanks.mgPerLitre[0] = (tanks.mgPerLitre[0] as number) + strokeMgPerLitre;
    },
    advance(atMicros) {
      advance(run, atMicros);
    },
    get mgPerLitre() {
      return tanks.mgPerLitre[tanks.count - 1] as number;
    },
    figures() {
      const fedMg = strokes * strokeMgPerLitre * tanks.litresEach;
      const { outMg, decayedMg } = run;
      return { ...watch.figures(), balance: { startMg, fedMg, outMg, decayedMg, heldMg: heldMg(tanks) } };
    },
  };
}

interface Run {
  readonly tanks: Tanks;
  readonly watch: Watch;
  readonly strokeMgPerLitre: number;
  readonly countFromMicros: number;
  readonly passage: Passage;
  /** The tanks at the start of the step that is being looked into. */
  readonly before: Float64Array;
  readonly told: Told;
  nowMicros: number;
  litresPerSecond: number;
  /** True from a stroke to the end of the next time that water flows. */
  fresh: boolean;
  outMg: number;
  decayedMg: number;
}

function startRun(terms: PipeTerms): Run {
  const litres = numberIn(terms.mixingVolume, "L");
  const startMgPerLitre = terms.start === undefined ? 0 : numberIn(terms.start, "mg/L");
  const tanks = newTanks(terms.tanks, litres, (terms.decayPerHour ?? 0) / 3_600, startMgPerLitre);
  return {
    tanks,
    watch: newWatch(numberIn(terms.wanted, "mg/L"), litres),
    strokeMgPerLitre: numberIn(terms.strokeMass, "mg") / tanks.litresEach,
    countFromMicros: terms.countFromMicros ?? 0,
    passage: newPassage(tanks),
    before: new Float64Array(tanks.count),
    told: { outletMgSecondsPerLitre: 0, allMgSecondsPerLitre: 0 },
    nowMicros: 0,
    litresPerSecond: 0,
    fresh: false,
    outMg: 0,
    decayedMg: 0,
  };
}

function advance(run: Run, atMicros: number): void {
  const fromMicros = run.nowMicros;
  if (!(atMicros > fromMicros)) return;
  run.nowMicros = atMicros;
  const seconds = (atMicros - fromMicros) / 1_000_000;
  const { tanks, litresPerSecond } = run;
  if (litresPerSecond === 0) {
    step(run, seconds, atMicros);
    return;
  }
  const look = (LOOK_TURNOVERS * tanks.litresEach) / litresPerSecond;
  const most = (tanks.count + QUIET_TURNOVERS) / LOOK_TURNOVERS;
  const looks = Math.max(run.fresh ? LOOKS_AFTER_STROKE : 1, Math.min(Math.ceil(seconds / look), most));
  run.fresh = false;
  // Where there are more turnovers than looks, the last step takes all that is left.
  const each = Math.min(seconds / looks, look);
  for (let i = 1; i < looks; i++) step(run, each, fromMicros + i * each * 1_000_000);
  step(run, seconds - (looks - 1) * each, atMicros);
}

function step(run: Run, seconds: number, endMicros: number): void {
  const { tanks, passage, before, told, litresPerSecond } = run;
  const turnoversPerSecond = litresPerSecond / tanks.litresEach;
  before.set(tanks.mgPerLitre);
  prepare(passage, tanks, turnoversPerSecond, seconds);
  pass(tanks, passage, told);
  const mg = litresPerSecond * told.outletMgSecondsPerLitre;
  run.outMg += mg;
  run.decayedMg += tanks.decayPerSecond * told.allMgSecondsPerLitre * tanks.litresEach;
  if (litresPerSecond === 0) return;
  run.watch.take({
    endMicros,
    seconds,
    counted: endMicros > run.countFromMicros,
    litres: litresPerSecond * seconds,
    mg,
    at: (s) => outletAfter(tanks, before, turnoversPerSecond, s),
  });
}
