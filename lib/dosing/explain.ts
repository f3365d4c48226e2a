/**
 * How was the plan worked out? Each step: the formula, the numbers with their units, the result. Dosing layer.
 *
 * For a student to follow and a licensed operator to sign; everything here is in the plan already, in other words.
 */
import { CT_TEMPERATURES } from "./ct-tables.js";
import { massFeed, solutionFeed, solutionFor } from "./feed.js";
import type { ContactTime, Plan } from "./plan.js";
import { BAFFLING_DEFAULT, STORAGE_DEFAULT } from "./plan.js";
import { fromSi, showNumber } from "./quantity.js";
import { logShown, shown } from "./show.js";
import type { PercentBasis } from "./solution.js";

export interface Step {
  readonly title: string;
  readonly formula: string;
  readonly numbers: string;
  readonly result: string;
  /** Where the formula comes from, if it is not mere arithmetic. */
  readonly source?: string;
}

/** The steps in the order in which they are worked out. */
export function explain(plan: Plan): Step[] {
  return [
    ...doseSteps(plan),
    ...strengthSteps(plan),
    ...strokeSteps(plan),
    ...ratioSteps(plan),
    ...peakSteps(plan),
    ...lowSteps(plan),
    ...daySteps(plan),
    ...mixSteps(plan),
    ...(plan.contact === undefined || "fault" in plan.contact ? [] : contactSteps(plan, plan.contact)),
  ];
}

function doseSteps({ input, residual }: Plan): Step[] {
  if (input.demand === undefined || residual === undefined) return [];
  return [
    {
      title: "Dose",
      formula: "dose = demand + residual",
      numbers: `${shown(input.demand)} + ${shown(residual)}`,
      result: shown(input.dose),
      source: "Military Water Supply, Subcourse MD0160, US Army Medical Department Center and School",
    },
  ];
}

function strengthSteps({ input, duty }: Plan): Step[] {
  const steps: Step[] =
    input.percent === undefined ? [] : [percentStep(input.percent, shown(input.strength))];
  if (input.age !== undefined) {
    steps.push({
      title: "Strength left after standing",
      formula: "1/C = 1/C0 + k·t",
      numbers: `C0 ${shown(input.strength)}, t ${shown(input.age)}, at ${shown(input.storage ?? STORAGE_DEFAULT)}`,
      result: shown(duty.strength),
      source: "Gordon, Adam, Bubnis, Minimizing chlorate ion formation, Journal AWWA, 1995; an estimate",
    });
  }
  return steps;
}

function percentStep({ percent, specificGravity, asHypochlorite }: PercentBasis, result: string): Step {
  const formula = ["10 · percent"];
  const numbers = [`10 · ${showNumber(percent.valueOf(), 6)}`];
  if (specificGravity !== undefined) {
    formula.push("specific gravity");
    numbers.push(showNumber(specificGravity.valueOf(), 6));
  }
  if (asHypochlorite) {
    formula.push("Cl2 / NaOCl");
    numbers.push("70.906 / 74.442");
  }
  return {
    title: "Strength of the solution",
    formula: `available chlorine, g/L = ${formula.join(" · ")} (${specificGravity === undefined ? "weight by volume" : "by weight"})`,
    numbers: numbers.join(" · "),
    result: `${result} as Cl2`,
    source: "Handbook of Chlorination, G. C. White, Van Nostrand Reinhold, 1972, restated",
  };
}

function strokeSteps({ input, duty }: Plan): Step[] {
  const { stroke } = input;
  if (stroke.from !== "rated output") return [];
  return [
    {
      title: "Solution per stroke",
      formula: "stroke volume = output at the cap / cap",
      numbers: `${shown(stroke.rate)} / ${showNumber(stroke.capPerMinute.valueOf())} strokes/min`,
      result: shown(duty.strokeVolume),
    },
  ];
}

function ratioSteps({ duty, choice, best }: Plan): Step[] {
  const { contactVolume, dose, strength, strokeVolume } = duty;
  const perContact = solutionFor(contactVolume, dose, strength);
  const exactly = choice.strokesPerContact.toFraction();
  const exactText = exactly.length > 40 ? "" : `, exactly ${exactly}`;
  return [
    {
      title: "Solution per contact",
      formula: "contact volume · dose / strength",
      numbers: `${shown(contactVolume)} · ${shown(dose)} / ${shown(strength)}`,
      result: shown(perContact),
    },
    {
      title: "Strokes per contact",
      formula: "solution per contact / stroke volume",
      numbers: `${shown(perContact)} / ${shown(strokeVolume)}`,
      result: `${showNumber(choice.strokesPerContact.valueOf(), 7)} strokes${exactText}`,
    },
    {
      title: "Ratio",
      formula: "the ratio m:d nearest to it (Stern-Brocot) that keeps up",
      numbers: `terms up to ${choice.limits.strokes}:${choice.limits.contacts}, dose within ${choice.tolerancePercent} %`,
      result: `${best.strokes}:${best.contacts}, strokes to contacts`,
      source: "Graham, Knuth, Patashnik, Concrete Mathematics, Addison-Wesley, 1994, section 4.5",
    },
    {
      title: "Dose that the ratio gives",
      formula: "m / d · stroke volume · strength / contact volume",
      numbers: `${best.strokes} / ${best.contacts} · ${shown(strokeVolume)} · ${shown(strength)} / ${shown(contactVolume)}`,
      result: `${shown(best.dose)}, off by ${showNumber(best.errorPercent, 3)} %`,
    },
  ];
}

function peakSteps({ duty, best, turndown, input }: Plan): Step[] {
  const feed = massFeed(duty.peak, input.dose);
  return [
    {
      title: "Strokes per minute at peak flow",
      formula: "peak flow / contact volume · m / d",
      numbers: `${shown(duty.peak)} / ${shown(duty.contactVolume)} · ${best.strokes} / ${best.contacts}`,
      result: `${showNumber(best.strokesPerMinuteAtPeak)} of the ${showNumber(duty.capPerMinute.valueOf())} that the cap allows`,
    },
    {
      title: "Flow at which the cap bites",
      formula: "cap · d / m · contact volume",
      numbers: `${showNumber(duty.capPerMinute.valueOf())}/min · ${best.contacts} / ${best.strokes} · ${shown(duty.contactVolume)}`,
      result: shown(turndown.capBitesAt),
    },
    {
      title: "Chlorine and solution fed at peak flow",
      formula: "flow · dose; and that / strength",
      numbers: `${shown(duty.peak)} · ${shown(input.dose)}; / ${shown(duty.strength)}`,
      result: `${shown(feed)}; ${shown(solutionFeed(feed, duty.strength))}`,
      source: "pounds formula of operator courses, lb/day = MGD · mg/L · 8.34, with exact units",
    },
  ];
}

function lowSteps({ duty, best, mixingVolume }: Plan): Step[] {
  const low = duty.low ?? duty.typical;
  if (low === undefined) return [];
  const { longest } = best.spacingAtLow;
  const steps: Step[] = [
    {
      title: "Longest stretch between strokes at low flow",
      formula: "over a round of d contacts, the longest from one stroke to the next",
      numbers: `${shown(low)}, ${best.strokes}:${best.contacts}`,
      result: `${shown(longest.time)}, ${shown(longest.water)} of water`,
    },
  ];
  if (mixingVolume !== undefined) {
    steps.push({
      title: "Swing of the dose after mixing",
      formula: "water per stroke / mixing volume",
      numbers: `${shown(longest.water)} / ${shown(mixingVolume)}`,
      result: `${showNumber(longest.water.si.div(mixingVolume.si).mul(100).valueOf(), 3)} % of the dose, peak to peak`,
      source: "mass balance of one ideally mixed volume",
    });
  }
  return steps;
}

function daySteps({ turndown, input }: Plan): Step[] {
  const steps: Step[] = [
    {
      title: "Solution used in a day",
      formula: "water per day / contact volume · m / d · stroke volume",
      numbers: `${shown(turndown.waterPerDay)} of water, at the typical flow all day, or the peak where none is told`,
      result: shown(turndown.solutionPerDay),
    },
  ];
  const life = turndown.stock;
  if (life !== undefined && input.tank !== undefined) {
    steps.push(
      {
        title: "Tank life",
        formula: "usable volume / solution per day",
        numbers: `${shown(input.tank)} / ${shown(turndown.solutionPerDay)} a day`,
        result: shown(life.untilEmpty),
      },
      {
        title: "Time to nine tenths of the strength",
        formula: "t = (1/0.9 − 1) / (k · C0)",
        numbers: `C0 ${shown(input.strength)}, at ${shown(input.storage ?? STORAGE_DEFAULT)}`,
        result: `${shown(life.untilAged)}; refill after ${shown(life.refill)}`,
        source:
          "Gordon, Adam, Bubnis, Journal AWWA, 1995; temperature: Lister, Canadian Journal of Chemistry 34, 1956; rate: " +
          "12.5 % table of the Trouble Free Pool wiki, of low authority; an estimate",
      },
    );
  }
  return steps;
}

function mixSteps({ mix, input }: Plan): Step[] {
  if (mix === undefined || input.stock === undefined || input.tank === undefined) return [];
  return [
    {
      title: "Amounts to mix for a full tank",
      formula: "stock = tank · strength / stock strength; water = the rest",
      numbers: `${shown(input.tank)} · ${shown(input.strength)} / ${shown(input.stock)}`,
      result: `${shown(mix.stock)} of stock, ${shown(mix.water)} of water (1 part to ${showNumber(mix.partsWater.valueOf())})`,
      source: "C1·V1 = C2·V2",
    },
  ];
}

function contactSteps({ input, duty }: Plan, contact: ContactTime): Step[] {
  const volume = input.contactTank ?? fromSi("volume", duty.contactVolume.si.mul(0));
  const temperature = input.temperature === undefined ? "" : shown(input.temperature);
  const steps: Step[] = [
    {
      title: "Contact time at peak flow (T10)",
      formula: "volume / peak flow · baffling factor",
      numbers: `${shown(volume)} / ${shown(duty.peak)} · ${input.baffling ?? BAFFLING_DEFAULT}`,
      result: shown(contact.time),
      source: "Disinfection Profiling and Benchmarking Guidance Manual, US EPA, 1999",
    },
    {
      title: "CT achieved",
      formula: "residual · T10",
      numbers: `${shown(contact.residual)} · ${shown(contact.time)}`,
      result: shown(contact.achieved),
      source: "40 CFR 141.74",
    },
    {
      title: "CT required, 4-log viruses",
      formula: `table: temperature down to one of ${CT_TEMPERATURES.join(", ")} °C, pH up; nothing interpolated`,
      numbers: `${temperature}, pH ${input.pH ?? ""}: ${contact.viruses.cell}`,
      result: `${shown(contact.viruses.required)}: ${contact.virusesMet ? "met" : "not met"}, ${logShown(contact.virusLog, 4)}`,
      source: "US EPA, 1991, Table E-7; reading rule US EPA 815-R-99-013, 1999",
    },
  ];
  if (contact.giardia !== undefined && contact.giardiaLog !== undefined) {
    steps.push({
      title: "Giardia, for where it is asked for",
      formula: "log = 3 · CT / CT of the 3-log table",
      numbers: `3 · ${shown(contact.achieved)} / ${shown(contact.giardia.required)} (${contact.giardia.cell})`,
      result: logShown(contact.giardiaLog, 3),
      source: "40 CFR 141.534; US EPA 815-R-20-003, 2020, Table B-1",
    });
  }
  return steps;
}
