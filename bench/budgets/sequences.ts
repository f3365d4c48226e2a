/**
 * Which runs of steps are tried for the dearest one? Drawn at random, then changed a little over and over while that makes it
 * dearer. Bench; no chance but the seed.
 */
import { randomFrom } from "../../harness/stimuli/random.js";
import { KINDS } from "../../tests/firmware/twin/words.js";
import {
  dearestStep,
  type Sequence,
  SETTINGS_KIND,
  type Step,
  type StepBench,
  type TwinSettings,
} from "./step-bench.js";

const LONGEST_TICKS = 1_350_000_000;
const STEPS_MOST = 40;
/** Where a step is not yet the dearest there is, it is looked for further from as many of the best. */
const BEST_KEPT = 6;
const CAUSES = 5;
const CONTACT = KINDS.indexOf("contact");

export interface Dearest {
  readonly cycles: number;
  readonly sequence: Sequence;
  /** Which step of it. */
  readonly index: number;
}

class Draw {
  constructor(private readonly random: () => number) {}

  below(count: number): number {
    return Math.floor(this.random() * count);
  }

  /** Small and large alike: evenly in its logarithm; the ends often. */
  upTo(most: number): number {
    const side = this.below(8);
    if (side === 0) return most;
    if (side === 1) return 0;
    return Math.min(most, Math.floor(2 ** (this.random() * Math.log2(most + 1))));
  }

  from1(most: number): number {
    return 1 + this.upTo(most - 1);
  }

  settings(): TwinSettings {
    const contacts = this.from1(65_535);
    const strokes = Math.min(65_535, this.below(3) === 0 ? this.from1(65_535) : this.from1(contacts * 8));
    const most = Math.ceil(strokes / contacts);
    const leastSpacing = this.from1(Math.floor(Math.min(100_000, LONGEST_TICKS / most)));
    return {
      strokes,
      contacts,
      leastSpacing,
      cadence: this.below(4) === 0 ? 1 : 0,
      contactsDuringPrime: this.below(2),
      owedLimit: Math.min(65_535, most + this.upTo(200)),
      grace: Math.min(LONGEST_TICKS, most * leastSpacing + this.upTo(10_000_000)),
      longestPrime: this.from1(1_000_000),
      primeSpacing: leastSpacing + this.upTo(10_000),
      guardBudget: this.below(4) === 0 ? 0 : this.from1(65_535),
      guardPeriod: this.from1(LONGEST_TICKS),
      guardBurst: Math.min(65_535, most + this.upTo(100)),
      closed: this.upTo(1_000),
      open: this.upTo(1_000),
      leastContact: this.upTo(1_000),
      stuck: this.below(3) === 0 ? 0 : 1_001 + this.upTo(100_000),
      silent: this.upTo(1_000_000),
      largestIncrease: this.from1(1_000),
    };
  }

  step(): Step {
    const kind = this.below(2) === 0 ? CONTACT : this.below(KINDS.length);
    return {
      kind,
      detail: kind === SETTINGS_KIND ? this.below(2) : this.below(CAUSES),
      afterTicks: this.below(6) === 0 ? this.upTo(1_500_000_000) : this.upTo(100_000),
      ...(kind === SETTINGS_KIND ? { settings: this.settings() } : {}),
    };
  }

  sequence(): Sequence {
    return {
      settings: this.settings(),
      startTicks: this.upTo(0xffff_ffff),
      steps: Array.from({ length: this.from1(STEPS_MOST) }, () => this.step()),
    };
  }

  /** The same with something else in one place. */
  changed({ settings, startTicks, steps }: Sequence): Sequence {
    const others = [...steps];
    const at = this.below(others.length);
    const old = others[at] ?? this.step();
    switch (this.below(6)) {
      case 0:
        return { settings: { ...settings, ...this.few() }, startTicks, steps };
      case 1:
        others.splice(at, 1);
        break;
      case 2:
        if (others.length < STEPS_MOST) others.splice(at, 0, this.step());
        break;
      case 3:
        others[at] = this.step();
        break;
      case 4:
        others[at] = { ...old, afterTicks: this.upTo(1_500_000_000) };
        break;
      default:
        others[at] = { ...old, afterTicks: Math.max(0, old.afterTicks + this.below(2_001) - 1_000) };
    }
    return { settings, startTicks, steps: others.length === 0 ? steps : others };
  }

  private few(): Partial<TwinSettings> {
    const names = Object.entries(this.settings());
    return Object.fromEntries(
      [names[this.below(names.length)], names[this.below(names.length)]].filter((each) => each !== undefined),
    );
  }
}

/** Tries `drawn` sequences, then `changes` of the dearest of them. */
export function searchDearest(
  bench: StepBench,
  { seed, drawn, changes }: { readonly seed: number; readonly drawn: number; readonly changes: number },
): { readonly dearest: Dearest; readonly steps: number } {
  const draw = new Draw(randomFrom(seed));
  let best: Dearest[] = [];
  let steps = 0;
  const tryOut = (sequence: Sequence, instead?: Dearest): void => {
    const found = dearestStep(bench, sequence);
    if (found === undefined) return;
    steps += sequence.steps.length;
    const dearest = { cycles: found.cycles, index: found.index, sequence };
    if (instead === undefined) best.push(dearest);
    else if (found.cycles >= instead.cycles) best[best.indexOf(instead)] = dearest;
    if (best.length > 2 * BEST_KEPT || instead !== undefined) {
      best = best.sort((a, b) => b.cycles - a.cycles).slice(0, BEST_KEPT);
    }
  };
  for (let i = 0; i < drawn; i++) tryOut(draw.sequence());
  for (let i = 0; i < changes; i++) {
    const one = best[draw.below(Math.min(best.length, BEST_KEPT))];
    if (one !== undefined) tryOut(draw.changed(one.sequence), one);
  }
  const [dearest] = best.sort((a, b) => b.cycles - a.cycles);
  if (dearest === undefined) throw new Error("no sequence was taken");
  return { dearest, steps };
}

/** A step and what stood around it, in words. */
export function wordsForStep({ sequence, index }: Dearest): string {
  const step = sequence.steps[index];
  if (step === undefined) return "none";
  const { settings, steps } = sequence;
  const inForce = steps.slice(0, index).reduce((last, each) => each.settings ?? last, settings);
  const { strokes, contacts, cadence, guardBudget } = inForce;
  return [
    `${KINDS[step.kind] ?? ""} ${step.afterTicks} ticks after the step before (number ${index + 1} of its run)`,
    `ratio ${strokes}:${contacts}, ${cadence === 0 ? "spread" : "prompt"}, guard ${guardBudget}`,
  ].join("; ");
}
