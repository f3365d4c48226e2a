/**
 * What does a plan tell a machine, and how does it end? Harness layer.
 */
import {
  type ContactTime,
  explain,
  exactIn,
  type Finding,
  findingsOf,
  numberIn,
  type Plan,
  type RankedCandidate,
} from "../../lib/dosing/index.js";
import { FULL_STROKE_STATEMENT } from "../../lib/pacing/index.js";
import { downstreamOf } from "./downstream.js";
import { settingsFindings, settingsOfPlan } from "./settings.js";

/** A plan with all that must be said beside it. */
export interface PlanReport {
  readonly plan: Plan;
  readonly findings: readonly Finding[];
  /** False if anything was refused. */
  readonly met: boolean;
}

/** Short, and shown with every plan: what can hurt, and who decides. */
export const CAUTIONS: readonly string[] = [
  "Hypochlorite burns skin and eyes. Never mix it with acid, ammonia or any other chemical: the gases can kill. Wear eye " +
    "protection and gloves, and air the room.",
  FULL_STROKE_STATEMENT,
  "Percent is read as weight by volume, as available chlorine (1 % = 10 g/L). A label may mean percent by weight, or " +
    'NaOCl: write "% w/w" with the specific gravity, or "% NaOCl".',
  "These numbers are arithmetic, not a measurement of water. Local codes, the product's label and a licensed operator or " +
    "engineer decide; measure the residual at the tap before anyone drinks.",
];

export function reportOf(plan: Plan): PlanReport {
  const findings = [...settingsFindings(plan), ...findingsOf(plan)];
  return { plan, findings, met: findings.every(({ level }) => level !== "refusal") };
}

/** The object of `plan --json`; names that stay. */
export function planObject({ plan, findings, met }: PlanReport): object {
  const { choice, turndown, duty, residual, contact, mix } = plan;
  return {
    strokes_per_contact: choice.strokesPerContact.valueOf(),
    strokes_per_contact_exact: choice.strokesPerContact.toFraction(),
    met,
    candidates: choice.candidates.map(candidateObject),
    nearest: candidateObject(choice.nearest),
    warnings: findings.map(({ level, id, says, source }) => ({ level, id, says, source })),
    settings: settingsOfPlan(plan),
    dose_mg_per_l: numberIn(duty.dose, "mg/L"),
    residual_mg_per_l: residual === undefined ? null : numberIn(residual, "mg/L"),
    strength_g_per_l: numberIn(duty.strength, "g/L"),
    stroke_volume_ml: numberIn(duty.strokeVolume, "mL"),
    cap_strokes_per_min: duty.capPerMinute.valueOf(),
    cap_bites_at_l_per_min: numberIn(turndown.capBitesAt, "L/min"),
    flows: turndown.rows.map((row) => ({
      at: row.at,
      l_per_min: numberIn(row.flow, "L/min"),
      strokes_per_min: row.strokesMade.valueOf(),
      strokes_per_min_asked: row.strokesAsked.valueOf(),
      cap_bites: row.capBites,
      dose_mg_per_l: numberIn(row.dose, "mg/L"),
      error_percent: row.errorPercent,
      longest_between_strokes_s: numberIn(row.spacing.longest.time, "s"),
      longest_water_between_strokes_l: numberIn(row.spacing.longest.water, "L"),
      solution_ml_per_min: numberIn(row.solutionFeed, "mL/min"),
    })),
    after_mixing: downstreamOf(plan).map((one) => ({
      at: one.at,
      cadence: one.cadence,
      peak_to_mean: one.peakToMean,
      share_under_wanted: one.underWanted,
      share_under_80_percent: one.under80Percent,
      share_under_half: one.underHalf,
    })),
    solution_l_per_day: numberIn(turndown.solutionPerDay, "L"),
    tank: turndown.stock && {
      until_empty_days: numberIn(turndown.stock.untilEmpty, "day"),
      until_aged_days: numberIn(turndown.stock.untilAged, "day"),
      refill_days: numberIn(turndown.stock.refill, "day"),
    },
    mix: mix && { stock_l: numberIn(mix.stock, "L"), water_l: numberIn(mix.water, "L") },
    contact_time: contact === undefined ? undefined : contactObject(contact),
    changes: choice.mends.map(({ change, purpose, from, to, ratio, hasMargin }) => ({
      change,
      purpose,
      ...changeObject(from, to),
      ratio: ratio === undefined ? null : `${ratio.strokes}:${ratio.contacts}`,
      keeps_up_with_margin: hasMargin,
    })),
    steps: explain(plan),
    cautions: CAUTIONS,
  };
}

function candidateObject(candidate: RankedCandidate): object {
  return {
    strokes: candidate.strokes,
    contacts: candidate.contacts,
    dose_mg_per_l: numberIn(candidate.dose, "mg/L"),
    error_percent: candidate.errorPercent,
    strokes_per_min_at_peak: candidate.strokesPerMinuteAtPeak,
    keeps_up: candidate.keepsUp,
    has_margin: candidate.hasMargin,
  };
}

const CHANGE_UNITS = { volume: "mL", strength: "g/L", dose: "mg/L", duration: "s" } as const;

function changeObject(
  ...[from, to]: [Plan["choice"]["mends"][number]["from"], Plan["choice"]["mends"][number]["to"]]
): object {
  const unit = CHANGE_UNITS[from.kind];
  return { unit, from: exactIn(from, unit).valueOf(), to: exactIn(to, unit).valueOf() };
}

function contactObject(contact: ContactTime | { readonly fault: string }): object {
  if ("fault" in contact) return { judged: false, why: contact.fault };
  return {
    judged: true,
    t10_min: numberIn(contact.time, "min"),
    residual_mg_per_l: numberIn(contact.residual, "mg/L"),
    ct_mg_min_per_l: numberIn(contact.achieved, "mg min/L"),
    ct_required_4_log_viruses: numberIn(contact.viruses.required, "mg min/L"),
    viruses_met: contact.virusesMet,
    virus_log: contact.virusLog,
    giardia_log: contact.giardiaLog ?? null,
  };
}
