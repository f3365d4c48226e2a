/**
 * What does the lab show for what was written? From texts and presses to a whole day, with its numbers and answers.
 *
 * Harness layer; a pure function, so that a worker, the page and a test all get the same. The answer is plain data that
 * can be sent from a worker.
 */
import { numberIn, type Plan, planFeed, type Ratio, strokesPerMinute } from "../../lib/dosing/index.js";
import type { Micros } from "../../lib/pacing/index.js";
import type { Answer } from "./answer.js";
import { answersOf } from "./answers.js";
import { BIN_MICROS, countsIn, type Extremes, extremesOf } from "./bins.js";
import { type Day, doseErrorOf, runDay, type Shed, type Track } from "./day.js";
import { downstreamOf } from "./downstream.js";
import type { Texts } from "./fields.js";
import { type LabNumber, numbersOf } from "./numbers.js";
import type { Stretch } from "./patterns.js";
import { missPercent, ratioText, wholeRatios } from "./questions/work.js";
import { type FieldFault, readTexts } from "./read.js";
import type { Press } from "./state.js";

/** The day at the width of a page, in bins. */
export interface Overview {
  readonly strokesPerMinute: Float64Array;
  readonly primedPerMinute: Float64Array;
  readonly owed: Extremes;
  readonly error: Extremes;
  readonly mgPerLitre: Extremes;
}

/** A ratio that could be taken, and how far it misses the dose. */
export interface Offer {
  readonly ratio: string;
  readonly errorPercent: number;
  readonly keepsUp: boolean;
}

export interface Reckoned {
  readonly ok: true;
  readonly stretches: readonly Stretch[];
  readonly contactMicros: Float64Array;
  readonly strokeMicros: Float64Array;
  readonly strokePrimed: Uint8Array;
  readonly shed: readonly Shed[];
  readonly owed: Track;
  readonly error: Track;
  readonly mgPerLitre: Track;
  readonly overview: Overview;
  readonly numbers: readonly LabNumber[];
  readonly capPerMinute: number;
  readonly wantedMgPerLitre: number;
  readonly longestPrimeMicros: Micros;
  readonly litresPerContact: number;
  /** The day in a few sentences. */
  readonly says: string;
  /** The same in one line. */
  readonly brief: string;
  readonly offers: readonly Offer[];
  readonly answers: readonly Answer[];
}

export type Reckoning = Reckoned | { readonly ok: false; readonly faults: readonly FieldFault[] };

/** What was thought over last: while only prime is held, plan and answers stay as they are. */
export interface Memory {
  key?: string;
  plan?: Plan;
  answers?: readonly Answer[];
}

/** Works out everything. `memory` is kept from call to call by the caller and saves work; it changes no answer. */
export function reckon(texts: Texts, presses: readonly Press[], memory: Memory = {}): Reckoning {
  const reading = readTexts(texts);
  if (!reading.ok) return reading;
  const { values } = reading;
  const day = runDay(values.settings, values.contacts, presses);
  const { curve, figures } = downstreamOf(values, day.strokeMicros);
  const key = JSON.stringify(texts);
  if (memory.key !== key) {
    const plan = planFeed(values.input);
    Object.assign(memory, { key, plan, answers: answersOf(texts, values, plan) });
  }
  const { plan, answers } = memory as Required<Memory>;
  const worth = plan.choice.strokesPerContact.valueOf();
  const error = doseErrorOf(day, worth);
  const { numbers, says, brief } = numbersOf(values, { day, figures, worth });
  return {
    ok: true,
    stretches: values.stretches,
    contactMicros: day.contactMicros,
    strokeMicros: day.strokeMicros,
    strokePrimed: day.strokePrimed,
    shed: day.shed,
    owed: day.owed,
    error,
    mgPerLitre: curve,
    overview: overviewOf(day, error, curve),
    numbers,
    capPerMinute: values.input.capPerMinute.valueOf(),
    wantedMgPerLitre: numberIn(values.input.dose, "mg/L"),
    longestPrimeMicros: values.settings.longestPrimeMicros,
    litresPerContact: numberIn(values.input.contactVolume, "L"),
    says,
    brief,
    offers: offersOf(plan),
    answers,
  };
}

function overviewOf(day: Day, error: Track, curve: Track): Overview {
  const minutes = BIN_MICROS / 60_000_000;
  const perMinute = (counts: Float64Array): Float64Array => counts.map((count) => count / minutes);
  return {
    strokesPerMinute: perMinute(countsIn(day.strokeMicros)),
    primedPerMinute: perMinute(countsIn(day.strokeMicros, (place) => day.strokePrimed[place] === 1)),
    owed: extremesOf(day.owed),
    error: extremesOf(error),
    mgPerLitre: extremesOf(curve),
  };
}

/** The plan's best ratio, and the whole numbers beside it: what a setting without a second number would give. */
function offersOf(plan: Plan): Offer[] {
  const { best, duty } = plan;
  const ratios: Ratio[] = [best, ...wholeRatios(plan)];
  const texts = ratios.map(ratioText);
  return ratios
    .filter((_, place) => texts.indexOf(texts[place] as string) === place)
    .map((ratio) => ({
      ratio: ratioText(ratio),
      errorPercent: missPercent({ plan }, ratio),
      keepsUp: strokesPerMinute(ratio, duty.peak, duty.contactVolume).lte(duty.capPerMinute),
    }));
}
