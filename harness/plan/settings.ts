/**
 * Which settings make the pacer do what the plan says, and does the core take them? Harness layer.
 *
 * They go to the core through the same door as a settings file, so that what is judged here is what `simulate` gets.
 */
import type { Finding, Plan } from "../../lib/dosing/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import { InputError } from "../files/fault.js";
import { formatDuration } from "../files/quantity.js";
import { settingsFrom } from "../files/settings.js";

/** A settings file that `simulate` takes as it is: its names, its units. */
export interface PlanSettings {
  readonly ratio: string;
  /** Strokes per minute; rounded down to what a settings file can say, so that the plan's cap is never passed. */
  readonly cap: number;
  readonly cadence: "spread" | "prompt";
  readonly grace: string;
  readonly "stroke-basis": "full" | "measured";
}

/** The settings of the plan's best ratio. */
export function settingsOfPlan({ best, duty, input, layout }: Plan): PlanSettings {
  return {
    ratio: `${best.strokes}:${best.contacts}`,
    cap: duty.capPerMinute.floor(6).valueOf(),
    cadence: layout.cadence,
    grace: formatDuration(Math.round(layout.grace.si.mul(1_000_000).valueOf())),
    "stroke-basis": input.stroke.from === "measured" ? "measured" : "full",
  };
}

/** What the core makes of settings of a plan. Throws an InputError where it refuses them. */
export function coreSettingsOf(settings: PlanSettings): Settings {
  const texts = Object.entries(settings) as [string, string | number][];
  return settingsFrom(new Map(texts.map(([name, value]) => [name, { text: String(value) }])));
}

/** What the core would refuse of those settings, as findings. */
export function settingsFindings(plan: Plan): Finding[] {
  try {
    coreSettingsOf(settingsOfPlan(plan));
    return [];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.faults.map(({ field, fault, mend }) => ({
      level: "refusal",
      id: "settings-refused",
      says:
        `the pacer refuses the settings of this plan: ${field} ${fault}. Mend: ${mend}` +
        (field === "--grace"
          ? "; with a longer grace, water that has stopped may be dosed for that long"
          : ""),
      source: "the laws of the pacing core",
    }));
  }
}
