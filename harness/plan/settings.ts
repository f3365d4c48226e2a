/**
 * Which settings make the pacer do what the plan says, and does the core take them? Harness layer.
 */
import { type Plan, type Finding } from "../../lib/dosing/index.js";
import { type SettingsFault, validateSettings } from "../../lib/pacing/index.js";

/** A settings file that `simulate` takes as it is: its names, its units. */
export interface PlanSettings {
  readonly ratio: string;
  /** Strokes per minute. */
  readonly cap: number;
  readonly cadence: "spread" | "prompt";
  readonly grace: string;
  readonly "stroke-basis": "full" | "measured";
}

/** The settings of the plan's best ratio. */
export function settingsOfPlan({ best, duty, input, layout }: Plan): PlanSettings {
  const seconds = layout.grace.si;
  return {
    ratio: `${best.strokes}:${best.contacts}`,
    cap: duty.capPerMinute.valueOf(),
    cadence: layout.cadence,
    grace: seconds.d === 1n ? `${seconds.toString()} s` : `${Math.round(seconds.mul(1_000).valueOf())} ms`,
    "stroke-basis": input.stroke.from === "measured" ? "measured" : "full",
  };
}

/** What the core would refuse of those settings, as findings. */
export function settingsFindings({ best, duty, layout }: Plan): Finding[] {
  const verdict = validateSettings({
    strokes: best.strokes,
    contacts: best.contacts,
    // Rounded up, so that the cap is never passed.
    leastSpacingMicros: Number(duty.capPerMinute.inverse().mul(60_000_000).ceil().n),
    graceMicros: Math.round(layout.grace.si.mul(1_000_000).valueOf()),
    cadence: layout.cadence,
  });
  return verdict.ok ? [] : verdict.faults.map(findingOf);
}

function findingOf({ setting, fault, mend }: SettingsFault): Finding {
  return {
    level: "refusal",
    id: "settings-refused",
    says: `the pacer does not take ${setting}: it ${fault} (${mend})`,
    source: "the laws of the pacing core",
  };
}
