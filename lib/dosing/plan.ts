/**
 * From a wanted dose to a ratio that can be trusted: what does all the arithmetic say together? Dosing layer.
 *
 * Pure: quantities in, a plan out. What the plan should be warned of is in findings.ts, its working in explain.ts.
 */
import type Fraction from "fraction.js";
import { type Choice, chooseRatio, type ChoiceTerms, type RankedCandidate } from "./choose.js";
import { ctAchieved, type CtReading, giardiaCt, logInactivation, t10, virusCt } from "./contact-time.js";
import { strengthAfter } from "./decay.js";
import { residualOf } from "./demand.js";
import {
  type Dose,
  type Duration,
  type Exposure,
  type Fault,
  type Flow,
  quantity,
  type Strength,
  type Temperature,
  type Volume,
} from "./quantity.js";
import { type StrokeSource, strokeVolumeOf } from "./pump.js";
import { dilute, type Mix, type PercentBasis } from "./solution.js";
import { type Layout, LAYOUT_DEFAULT } from "./spacing.js";
import { RATIO_TERM_MAX } from "../pacing/index.js";
import { turndown, type Turndown } from "./turndown.js";
import type { FeedDuty } from "./types.js";

/** What a plan is made from; every quantity is above zero unless it says otherwise. */
export interface PlanInput {
  readonly contactVolume: Volume;
  /** Wanted dose. With a demand (which may be zero) it leaves a residual; without, the residual is not known. */
  readonly dose: Dose;
  readonly demand?: Dose | undefined;
  /** Strength of the solution when it was made. */
  readonly strength: Strength;
  /** How the strength was written, if in percent; for the working. */
  readonly percent?: PercentBasis | undefined;
  /** Age of the solution; with it the dose is worked out for the strength that is left. */
  readonly age?: Duration | undefined;
  /** Where the solution stands; default {@link STORAGE_DEFAULT}. */
  readonly storage?: Temperature | undefined;
  /** A stronger stock that the solution is mixed from, for the amounts to mix. */
  readonly stock?: Strength | undefined;
  readonly stroke: StrokeSource;
  /** Manual stroke setting in percent of full, above 0 to 100; default 100. */
  readonly strokeSettingPercent?: number | undefined;
  readonly capPerMinute: Fraction;
  /** Flows in order: low ≤ typical ≤ peak. */
  readonly peak: Flow;
  readonly typical?: Flow | undefined;
  readonly low?: Flow | undefined;
  readonly tank?: Volume | undefined;
  readonly pH?: number | undefined;
  /** Of the water. */
  readonly temperature?: Temperature | undefined;
  readonly contactTank?: Volume | undefined;
  /** T10 / detention time, above 0 to 1. */
  readonly baffling?: number | undefined;
  /** Water that mixes after the injection point; default the contact tank, unless it is a pipe (baffling 1). */
  readonly mixingVolume?: Volume | undefined;
  readonly terms?: Omit<ChoiceTerms, "mixingVolume"> | undefined;
}

/** Assumed storage of the solution where none is told. Common practice, no source: a warm pump room. */
export const STORAGE_DEFAULT = quantity("temperature", 25, "degC");
/** Largest terms of a ratio that are tried, in order, where two digits do not do: three digits, and the core's most. */
export const LARGER_LIMITS = [999, RATIO_TERM_MAX] as const;
/** A tank is renewed when this share of its strength is left. Common practice, no source. */
export const LEAST_SHARE = 0.9;

/** Contact time at peak flow, against the tables. */
export interface ContactTime {
  readonly time: Duration;
  /** Left by the ratio at peak flow after the demand. */
  readonly residual: Dose;
  readonly achieved: Exposure;
  /** 4-log viruses. */
  readonly viruses: CtReading;
  readonly virusesMet: boolean;
  /** Log inactivation, no further than the table reads: 4. */
  readonly virusLog: number;
  /** 3-log Giardia, or why the table cannot be read. */
  readonly giardia: CtReading | undefined;
  /** The same for Giardia: no further than 3. */
  readonly giardiaLog: number | undefined;
}

export interface Plan {
  readonly input: PlanInput;
  /** What the ratio was chosen from: the input, with strength and stroke volume as they are in use. */
  readonly duty: FeedDuty;
  readonly choice: Choice;
  /** The best candidate, or the nearest ratio where none meets the tolerance. */
  readonly best: RankedCandidate;
  readonly layout: Layout;
  readonly turndown: Turndown;
  /** Wanted residual; undefined where the demand is not known. */
  readonly residual: Dose | undefined;
  readonly mixingVolume: Volume | undefined;
  /** Amounts for a full tank from the stock; undefined without tank and stock, or if the stock is too weak. */
  readonly mix: Mix | undefined;
  /** Undefined where contact tank, pH or temperature are not all told. */
  readonly contact: ContactTime | Fault | undefined;
}

/** Makes a plan. Throws a RangeError for terms out of range, as {@link chooseRatio} does. */
export function planFeed(input: PlanInput): Plan {
  const { tank, stock, contactTank, baffling } = input;
  const duty = dutyOf(input);
  const mixingVolume = input.mixingVolume ?? (baffling === 1 ? undefined : contactTank);
  const choice = choose(duty, { ...input.terms, mixingVolume });
  const best = choice.candidates[0] ?? choice.nearest;
  const layout = input.terms?.layout ?? LAYOUT_DEFAULT;
  const storage = input.storage ?? STORAGE_DEFAULT;
  const across = turndown(duty, best, {
    layout,
    stock: tank && { tank, storage, leastShare: LEAST_SHARE },
  });
  return {
    input,
    duty,
    choice,
    best,
    layout,
    turndown: across,
    residual: input.demand && residualOf(input.dose, input.demand),
    mixingVolume,
    mix: tank && stock && dilute(stock, input.strength, tank),
    contact: contactOf(input, across),
  };
}

/** Where no limits are told, numbers of two digits are tried first, and larger ones only if none serves the dose. */
function choose(duty: FeedDuty, terms: ChoiceTerms): Choice {
  const choice = chooseRatio(duty, terms);
  if (terms.limits !== undefined || choice.candidates.length > 0) return choice;
  for (const largest of LARGER_LIMITS) {
    const wider = chooseRatio(duty, { ...terms, limits: { strokes: largest, contacts: largest } });
    if (wider.candidates.length > 0) return wider;
  }
  return choice;
}

/** True where the wanted dose can be fed: a ratio meets the tolerance and the pump keeps up with it at peak. */
export function planServes({ choice }: Plan): boolean {
  return choice.serves;
}

function dutyOf(input: PlanInput): FeedDuty {
  const { contactVolume, dose, capPerMinute, peak, typical, low, age } = input;
  const strength =
    age === undefined ? input.strength : strengthAfter(input.strength, age, input.storage ?? STORAGE_DEFAULT);
  return {
    contactVolume,
    dose,
    strength,
    strokeVolume: strokeVolumeOf(input.stroke),
    capPerMinute,
    peak,
    typical,
    low,
  };
}

/** At peak flow, with the residual that the ratio leaves there. */
function contactOf(input: PlanInput, { rows }: Turndown): ContactTime | Fault | undefined {
  const { contactTank, baffling, pH, temperature, demand, peak } = input;
  const atPeak = rows.find(({ at }) => at === "peak");
  if (contactTank === undefined || pH === undefined || temperature === undefined || !atPeak) return undefined;
  if (demand === undefined) {
    return {
      fault: "the residual is not known, so contact time cannot be judged",
      mend: "give the demand of the water beside the dose",
    };
  }
  const residual = residualOf(atPeak.dose, demand);
  const time = t10(contactTank, peak, baffling ?? BAFFLING_DEFAULT);
  const achieved = ctAchieved(residual, time);
  const viruses = virusCt(4, { temperature, pH });
  if (!viruses.ok) return viruses;
  const giardia = giardiaCt(3, { temperature, pH, residual });
  return {
    time,
    residual,
    achieved,
    viruses: viruses.value,
    virusesMet: achieved.si.gte(viruses.value.required.si),
    virusLog: Math.min(4, logInactivation(achieved, viruses.value.required, 4)),
    giardia: giardia.ok ? giardia.value : undefined,
    giardiaLog: giardia.ok ? Math.min(3, logInactivation(achieved, giardia.value.required, 3)) : undefined,
  };
}

/** Taken where nothing is told of the baffling: unbaffled, the worst class. */
export const BAFFLING_DEFAULT = 0.1;
