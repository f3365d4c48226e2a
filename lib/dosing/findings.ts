/**
 * What must be said about a plan before it is used? Warnings and refusals, each with its source. Dosing layer.
 *
 * A refusal says that the plan cannot be met or may not be used as it is; a warning that someone must look.
 */
import {
  FEEDER_CAPACITY_SOURCE,
  HIGHEST_RESIDUAL,
  HIGHEST_RESIDUAL_SOURCE,
  LONGEST_STORAGE,
  LONGEST_STORAGE_SOURCE,
  LOWEST_RESIDUAL,
  LOWEST_RESIDUAL_SOURCE,
  PLAUSIBLE_STRENGTH,
  PLAUSIBLE_STRENGTH_SOURCE,
  USUAL_MAXIMUM_USE,
  USUAL_MAXIMUM_USE_SOURCE,
} from "./limits.js";
import { GRACE_MOST, RIPPLE_MOST, rippleAfter } from "./mend.js";
import { LIMITS_DEFAULT } from "./choose.js";
import type { Plan } from "./plan.js";
import { strokeSettingWarning } from "./pump.js";
import { fromSi, showNumber, type Volume } from "./quantity.js";
import { shown } from "./show.js";
import { spacingAt, type Stretch } from "./spacing.js";
import { lowestFlow, type Ratio } from "./types.js";

export interface Finding {
  readonly level: "warning" | "refusal";
  /** A name that stays, for machines. */
  readonly id: string;
  readonly says: string;
  readonly source: string;
}

const PRACTICE = "common practice, no source";

/** All findings, refusals first. */
export function findingsOf(plan: Plan): Finding[] {
  const all = [
    ...residualFindings(plan),
    ...ratioFindings(plan),
    ...strengthFindings(plan),
    ...strokeFindings(plan),
    ...evennessFindings(plan),
    ...contactFindings(plan),
    ...stockFindings(plan),
  ];
  return [
    ...all.filter(({ level }) => level === "refusal"),
    ...all.filter(({ level }) => level === "warning"),
  ];
}

function residualFindings({ residual, input }: Plan): Finding[] {
  const findings: Finding[] = [];
  if (residual?.si.gt(HIGHEST_RESIDUAL.si) === true) {
    findings.push({
      level: "refusal",
      id: "residual-over-maximum",
      says: `the residual would be ${shown(residual)}, over the regulatory maximum of ${shown(HIGHEST_RESIDUAL)}`,
      source: HIGHEST_RESIDUAL_SOURCE,
    });
  }
  if (residual === undefined && input.dose.si.gt(HIGHEST_RESIDUAL.si)) {
    findings.push({
      level: "warning",
      id: "residual-may-exceed-maximum",
      says:
        `the dose of ${shown(input.dose)} could leave a residual over the regulatory maximum of ` +
        `${shown(HIGHEST_RESIDUAL)}: the demand is not known. Give the demand, or measure the residual at the tap`,
      source: HIGHEST_RESIDUAL_SOURCE,
    });
  }
  if (residual?.si.lt(LOWEST_RESIDUAL.si) === true) {
    findings.push({
      level: "warning",
      id: "residual-under-minimum",
      says: `the residual would be ${shown(residual)}, under the ${shown(LOWEST_RESIDUAL)} asked for at the entry point`,
      source: LOWEST_RESIDUAL_SOURCE,
    });
  }
  if (input.dose.si.gt(USUAL_MAXIMUM_USE.si)) {
    findings.push({
      level: "warning",
      id: "dose-over-maximum-use",
      says: `the dose of ${shown(input.dose)} is over the usual certified maximum use level of ${shown(USUAL_MAXIMUM_USE)}`,
      source: USUAL_MAXIMUM_USE_SOURCE,
    });
  }
  return findings;
}

function ratioFindings(plan: Plan): Finding[] {
  const { choice, best, duty, turndown } = plan;
  const asked = showNumber(best.strokesPerMinuteAtPeak);
  const cap = showNumber(duty.capPerMinute.valueOf());
  if (choice.candidates.length === 0) {
    return [
      {
        level: "refusal",
        id: "no-ratio",
        says:
          `no ratio within ${choice.limits.strokes}:${choice.limits.contacts} gives the dose within ${choice.tolerancePercent} %: ` +
          `a contact is worth ${showNumber(choice.strokesPerContact.valueOf())} strokes, and the nearest, ` +
          `${best.strokes}:${best.contacts}, misses the dose by ${showNumber(best.errorPercent, 3)} %`,
        source: "tolerance as asked for; 2 % unless told otherwise: OIML R 49-1, Water meters, OIML, 2013",
      },
    ];
  }
  if (!choice.serves) {
    return [
      {
        level: "refusal",
        id: "peak-not-followed",
        says:
          `the pump cannot follow peak flow: ${best.strokes}:${best.contacts} asks for ${asked} strokes/min there and the cap ` +
          `is ${cap}; above ${shown(turndown.capBitesAt)} the water is underdosed, at peak by ` +
          `${showNumber(-(turndown.rows.at(-1)?.errorPercent ?? 0), 3)} %`,
        source: FEEDER_CAPACITY_SOURCE,
      },
    ];
  }
  return [...largeNumbers(best), ...littleToSpare({ asked, cap }, plan)];
}

function largeNumbers({ strokes, contacts }: Ratio): Finding[] {
  if (strokes <= LIMITS_DEFAULT.strokes && contacts <= LIMITS_DEFAULT.contacts) return [];
  return [
    {
      level: "warning",
      id: "large-numbers",
      says:
        `the ratio needs larger numbers than two digits (${strokes}:${contacts}): make sure that the controller takes them ` +
        "and that they can be read back",
      source: PRACTICE,
    },
  ];
}

function littleToSpare({ asked, cap }: { asked: string; cap: string }, { best, choice }: Plan): Finding[] {
  if (best.hasMargin) return [];
  return [
    {
      level: "warning",
      id: "little-to-spare",
      says:
        `at peak flow the pump has ${showNumber(best.sparePercentAtPeak, 3)} % to spare (${asked} of ${cap} strokes/min), ` +
        `less than ${choice.marginPercent} %: what a surge leaves owed is caught up slowly`,
      source: PRACTICE,
    },
  ];
}

function strengthFindings({ input }: Plan): Finding[] {
  const { least, most } = PLAUSIBLE_STRENGTH;
  if (input.strength.si.gte(least.si) && input.strength.si.lte(most.si)) return [];
  return [
    {
      level: "warning",
      id: "strength-not-plausible",
      says: `a solution of ${shown(input.strength)} is not a usual one, which is ${shown(least)} to ${shown(most)}: check its basis`,
      source: PLAUSIBLE_STRENGTH_SOURCE,
    },
  ];
}

function strokeFindings({ input }: Plan): Finding[] {
  const says = strokeSettingWarning(input.stroke, input.strokeSettingPercent ?? 100);
  return says === undefined ? [] : [{ level: "warning", id: "stroke-not-full", says, source: PRACTICE }];
}

/** What the grace leaves of `spread`, and what would be uneven without it too. */
function evennessFindings(plan: Plan): Finding[] {
  const { best, duty, layout, mixingVolume } = plan;
  const made = best.spacingAtLow.longest;
  const unlimited = { ...layout, grace: GRACE_MOST };
  const could = spacingAt(best, lowestFlow(duty), duty, unlimited).longest;
  const isEven = ({ water }: Stretch): boolean =>
    mixingVolume !== undefined && rippleAfter(water, mixingVolume).lte(RIPPLE_MOST);
  const findings: Finding[] = [];
  if (made.time.si.gt(could.time.si) && !isEven(made)) findings.push(graceFinding(plan, made, could));
  if (mixingVolume !== undefined && !isEven(could)) findings.push(unevenFinding(could, mixingVolume));
  return findings;
}

function graceFinding({ duty, layout }: Plan, made: Stretch, could: Stretch): Finding {
  const low = lowestFlow(duty);
  const interval = fromSi("duration", duty.contactVolume.si.div(low.si).ceil());
  const contact = fromSi("volume", low.si.mul(layout.grace.si));
  const longer = interval.si.gt(GRACE_MOST.si) ? GRACE_MOST : interval;
  return {
    level: "warning",
    id: "grace-limits-spread",
    says:
      `at ${shown(low)} contacts come ${shown(interval)} apart, and spread lays their strokes out over the still-water grace of ` +
      `${shown(layout.grace)} only: ${shown(made.time)} and ${shown(made.water)} pass between two strokes, where it could be ` +
      `${shown(could.time)} and ${shown(could.water)}. Give a contact volume of at most ${shown(contact)}, or mix at least ` +
      `${shown(mixingFor(made))}, or give a grace of at least ${shown(longer)}: but water that has stopped may then be dosed ` +
      "for that long",
    source: `the pacer's own rule for still water; ${SWING_SOURCE}`,
  };
}

function unevenFinding({ water }: Stretch, mixingVolume: Volume): Finding {
  const percent = showNumber(rippleAfter(water, mixingVolume).mul(100).valueOf(), 3);
  return {
    level: "warning",
    id: "uneven-at-low-flow",
    says:
      `at the lowest flow ${shown(water)} pass between two strokes at best, and a mixing volume of ${shown(mixingVolume)} leaves a ` +
      `swing of ${percent} % of the dose: dilute the solution, use a smaller stroke, or mix at least ` +
      shown(mixingFor({ water })),
    source: SWING_SOURCE,
  };
}

const SWING_SOURCE =
  "swing of an ideally mixed volume = water per stroke / volume (mass balance); " +
  `${RIPPLE_MOST.mul(100).toString()} % as most: ${PRACTICE}`;

function mixingFor({ water }: Pick<Stretch, "water">): Volume {
  return fromSi("volume", water.si.div(RIPPLE_MOST));
}

const CT_SOURCE =
  "Guidance Manual for Compliance with the Filtration and Disinfection Requirements, US EPA, 1991, Table E-7, read by the " +
  "rule of US EPA 815-R-99-013, 1999";

function contactFindings({ contact }: Plan): Finding[] {
  if (contact === undefined) return [];
  if ("fault" in contact) {
    const says = `${contact.fault}: ${contact.mend}`;
    return [{ level: "warning", id: "contact-time-not-judged", says, source: CT_SOURCE }];
  }
  if (contact.virusesMet) return [];
  return [
    {
      level: "warning",
      id: "contact-time-not-met",
      says:
        `contact time is not met: CT ${shown(contact.achieved)} at peak flow (${shown(contact.residual)} for ${shown(contact.time)}), ` +
        `and ${contact.viruses.cell} asks for ${shown(contact.viruses.required)}`,
      source: CT_SOURCE,
    },
  ];
}

function stockFindings({ turndown, input, mix }: Plan): Finding[] {
  const findings: Finding[] = [];
  const life = turndown.stock;
  if (life?.limitedBy === "age") {
    findings.push({
      level: "warning",
      id: "tank-ages-first",
      says:
        `a full tank lasts ${shown(life.untilEmpty)} but may lose a tenth of its strength in ${shown(life.untilAged)} (an estimate, on the ` +
        "safe side): " +
        "mix less at a time, or weaker",
      source: "second-order law: Gordon, Adam, Bubnis, Journal AWWA, 1995; a tenth as most: " + PRACTICE,
    });
  }
  if (life?.refill.si.gt(LONGEST_STORAGE.si) === true) {
    findings.push({
      level: "warning",
      id: "stored-too-long",
      says: `a full tank lasts ${shown(life.refill)}, and hypochlorite should not be stored for more than ${shown(LONGEST_STORAGE)}`,
      source: LONGEST_STORAGE_SOURCE,
    });
  }
  if (input.stock !== undefined && input.tank !== undefined && mix === undefined) {
    findings.push({
      level: "warning",
      id: "stock-too-weak",
      says: `the stock (${shown(input.stock)}) is weaker than the solution that is to be mixed from it`,
      source: "C1·V1 = C2·V2",
    });
  }
  return findings;
}
