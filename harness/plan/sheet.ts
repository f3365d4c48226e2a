/**
 * What must be checked, and written down, before water is dosed? The commissioning sheet, as data. Harness layer.
 *
 * Checks stand in the order in which a person can make them: at rest and dry first, then with water in place of
 * solution, then with solution, last at the tap.
 */
import { explain, numberIn, showNumber, shown } from "../../lib/dosing/index.js";
import { CAUTIONS, type PlanReport } from "./report.js";
import { settingsOfPlan } from "./settings.js";

/** One part of the sheet: facts to read, checks to tick, blanks to fill. */
export interface SheetPart {
  readonly title: string;
  readonly facts?: readonly (readonly [name: string, value: string])[];
  readonly notes?: readonly string[];
  readonly checks?: readonly string[];
  /** Lines to write on. */
  readonly blanks?: readonly string[];
}

export interface Sheet {
  readonly title: string;
  readonly parts: readonly SheetPart[];
}

export function sheetOf(report: PlanReport): Sheet {
  return {
    title: "Commissioning sheet: flow-paced disinfection",
    parts: [
      {
        title: "Site",
        blanks: [
          "Site and well",
          "Meter and its serial number",
          "Pump and its serial number",
          "Date",
          "Done by",
        ],
      },
      { title: "Cautions", notes: CAUTIONS },
      ...findingPart(report),
      planPart(report),
      flowPart(report),
      { title: "At rest, power off", checks: AT_REST },
      { title: "With plain water in the tank", checks: WITH_WATER },
      drawdownPart(report),
      { title: "With solution", checks: WITH_SOLUTION, blanks: ["Strength by test, date"] },
      tapPart(report),
      { title: "Signed", blanks: ["Operator, licence", "Checked by", "Next check due"] },
      {
        title: "Working",
        notes: explain(report.plan).map(
          ({ title, formula, numbers, result }) => `${title}: ${formula} = ${numbers} = ${result}`,
        ),
      },
    ],
  };
}

const AT_REST: readonly string[] = [
  "Line pressure is off before any joint is opened.",
  "The meter's dry contact is wired to the controller's signal and common, and to nothing that carries a voltage.",
  "The pump gets power, or leave to run, only while water flows: through the well pump's starter or a flow switch, beside the pacing signal.",
  "The suction line ends in a foot valve with a weight; its strainer stands clear of the bottom, off the sediment.",
  "Check valves at the pump's suction and discharge and at the injection point let liquid pass towards the water only.",
  "The injection point is in the middle of the flow, before the mixing volume, and can be shut off and taken out.",
  "An anti-siphon or back-pressure valve stands in the discharge, set above the highest pressure of the line.",
  "The bleed line runs back into the solution tank, above its liquid.",
  "The pump's manual stroke stands at full, or at the setting at which millilitres per stroke were measured.",
];
const WITH_WATER: readonly string[] = [
  "One known volume through the meter closes the contact once; the controller counted it once.",
  "Primed until no air comes through the bleed; the prime stopped when the button was let go.",
  "No joint leaks at line pressure, after ten minutes.",
  "With the flow permission taken away, no stroke is made, whatever the meter says.",
  "With the water shut off, strokes stop within the still-water grace.",
  "Ratio, rate cap, cadence and grace, read back from the controller, are those of the plan.",
  "Strokes counted over a round of contacts agree with the ratio.",
  "After power was off and on, no burst of strokes follows.",
];
const WITH_SOLUTION: readonly string[] = [
  "Goggles, gloves and apron are on; water to rinse with is at hand; the room is aired.",
  "The tank is marked with its content, strength and the date it was mixed; nothing else was ever in it.",
  "Primed again with solution, and bled.",
];

function findingPart({ findings }: PlanReport): SheetPart[] {
  if (findings.length === 0) return [];
  const notes = findings.map(
    ({ level, says, source }) =>
      `${level === "refusal" ? "REFUSED" : "Warning"}: ${says}. Source: ${source}.`,
  );
  return [{ title: "Mind before use", notes }];
}

function planPart({ plan, met }: PlanReport): SheetPart {
  const { duty, best, turndown, layout, residual, mix, contact } = plan;
  const settings = settingsOfPlan(plan);
  const rows: [string, string][] = [
    ["Ratio, strokes to contacts", settings.ratio + (met ? "" : " (REFUSED, see above)")],
    ["Rate cap", `${settings.cap} strokes/min`],
    ["Cadence and grace", `${layout.cadence}, ${settings.grace}`],
    ["Water per contact", shown(duty.contactVolume)],
    ["Solution per stroke", shown(duty.strokeVolume)],
    ["Strength, as Cl2", shown(duty.strength)],
    ["Wanted dose", shown(duty.dose)],
    ["Dose of the ratio", `${shown(best.dose)}, off by ${showNumber(best.errorPercent, 3)} %`],
    ["The cap bites above", shown(turndown.capBitesAt)],
    ["Solution used a day", shown(turndown.solutionPerDay)],
  ];
  if (residual !== undefined) rows.push(["Wanted residual", shown(residual)]);
  if (turndown.stock !== undefined) rows.push(["Refill after", shown(turndown.stock.refill)]);
  if (mix !== undefined)
    rows.push(["Mix for a full tank", `${shown(mix.stock)} of stock, ${shown(mix.water)} of water`]);
  if (contact !== undefined && !("fault" in contact)) {
    const verdict = contact.virusesMet ? "met" : "NOT met";
    rows.push([
      "Contact time at peak",
      `CT ${shown(contact.achieved)} of ${shown(contact.viruses.required)} for ${contact.viruses.cell}: ${verdict}`,
    ]);
  }
  return { title: "Plan", facts: rows };
}

function flowPart({ plan }: PlanReport): SheetPart {
  const facts = plan.turndown.rows.map((row): [string, string] => [
    `At ${row.at} flow, ${shown(row.flow)}`,
    `${showNumber(row.strokesMade.valueOf())} strokes/min, ${shown(row.dose)}, at most ${shown(row.spacing.longest.time)} between strokes`,
  ]);
  return { title: "What to expect", facts };
}

function drawdownPart({ plan }: PlanReport): SheetPart {
  const strokes = 100;
  const expected = numberIn(plan.duty.strokeVolume, "mL") * strokes;
  return {
    title: "Drawdown",
    notes: [
      `${strokes} strokes from a graduated cylinder on the suction side should draw ${showNumber(expected)} mL. If they draw ` +
        "anything else, plan again with the measured volume per stroke.",
    ],
    blanks: [
      "Stroke setting",
      "Drawn, first run, mL",
      "Drawn, second run, mL",
      "Drawn, third run, mL",
      "Measured mL per stroke",
    ],
  };
}

function tapPart({ plan }: PlanReport): SheetPart {
  const wanted = plan.residual === undefined ? "" : ` (wanted ${shown(plan.residual)})`;
  return {
    title: "At the tap, before anyone drinks",
    checks: [
      `Free residual measured at the first tap after the contact time, by a test kit in date${wanted}.`,
      "Measured again at low and at peak flow, and a day later.",
      "The interlock was tried once more with solution in the line.",
    ],
    blanks: ["Residual at low flow, mg/L", "Residual at peak flow, mg/L", "Residual a day later, mg/L"],
  };
}
