/**
 * How much disinfectant and how much solution does the water need? Feed arithmetic, exact. Dosing layer.
 *
 * Mass in = mass out: dose · water = strength · solution. Source: the "pounds formula" of operator courses
 * (lb/day = MGD · mg/L · 8.34), here with exact units, so 8.3454 stands where handbooks print 8.34.
 */
import type Fraction from "fraction.js";
import {
  type Dose,
  type Flow,
  fromSi,
  type Mass,
  type MassFeed,
  type Strength,
  type Volume,
} from "./quantity.js";
import type { FeedDuty, Ratio } from "./types.js";

/** Disinfectant per time for a flow of water: flow · dose. */
export function massFeed(water: Flow, dose: Dose): MassFeed {
  return fromSi("massFeed", water.si.mul(dose.si));
}

/** Disinfectant for a volume of water: volume · dose. */
export function massFor(water: Volume, dose: Dose): Mass {
  return fromSi("mass", water.si.mul(dose.si));
}

/** Solution per time: mass feed / strength. Throws (division by zero) if the strength is zero. */
export function solutionFeed(feed: MassFeed, strength: Strength): Flow {
  return fromSi("flow", feed.si.div(strength.si));
}

/** Solution for a volume of water: volume · dose / strength. Throws if the strength is zero. */
export function solutionFor(water: Volume, dose: Dose, strength: Strength): Volume {
  return fromSi("volume", water.si.mul(dose.si).div(strength.si));
}

/** Dose from what was fed: mass feed / flow of water. Throws if the flow is zero. */
export function doseOf(feed: MassFeed, water: Flow): Dose {
  return fromSi("dose", feed.si.div(water.si));
}

/**
 * Strokes that one contact is worth, as an exact fraction above zero:
 * contact volume · dose / (strength · stroke volume). The solution's own volume is not counted as water.
 */
export function strokesPerContact(
  duty: Pick<FeedDuty, "contactVolume" | "dose" | "strength" | "strokeVolume">,
): Fraction {
  return solutionFor(duty.contactVolume, duty.dose, duty.strength).si.div(duty.strokeVolume.si);
}

/** The dose that a ratio gives, exact: m/d · stroke volume · strength / contact volume. */
export function doseOfRatio(
  ratio: Ratio,
  duty: Pick<FeedDuty, "contactVolume" | "strength" | "strokeVolume">,
): Dose {
  const { contactVolume, strength, strokeVolume } = duty;
  return fromSi(
    "dose",
    strokeVolume.si.mul(ratio.strokes).div(ratio.contacts).mul(strength.si).div(contactVolume.si),
  );
}

/** Strokes per minute that a ratio asks for at a flow, exact. */
export function strokesPerMinute(ratio: Ratio, water: Flow, contactVolume: Volume): Fraction {
  return water.si.mul(60).div(contactVolume.si).mul(ratio.strokes).div(ratio.contacts);
}
