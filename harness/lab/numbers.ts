/**
 * Which numbers does the lab tell of a day, and in what words? Harness layer.
 *
 * Their names are those of `simulate --json` where that has them too, so that the two can be laid side by side.
 */
import { numberIn, type PipeFigures, showNumber } from "../../lib/dosing/index.js";
import { shedBy, SHED_CAUSES } from "../../lib/pacing/index.js";
import { clock, many, whole } from "../report/words.js";
import type { Day } from "./day.js";
import { intoStillWater } from "./downstream.js";
import type { Values } from "./read.js";

export interface LabNumber {
  readonly name: string;
  readonly label: string;
  /** null where there is nothing to tell. */
  readonly value: number | null;
  readonly shown: string;
}

interface Told {
  readonly day: Day;
  readonly figures: PipeFigures;
  /** Strokes that a contact is worth. */
  readonly worth: number;
}

/** The numbers, the day in a few sentences, and the same in one line. */
export function numbersOf(values: Values, told: Told): { numbers: LabNumber[]; says: string; brief: string } {
  const { day, figures } = told;
  const { end } = day;
  const percent = doseErrorPercent(told);
  const count = (name: string, label: string, value: number): LabNumber => ({
    name,
    label,
    value,
    shown: whole(value),
  });
  const measure = (name: string, label: string, value: number | undefined, unit: string): LabNumber => ({
    name,
    label,
    value: value ?? null,
    shown: value === undefined ? "no water" : `${showNumber(value, 3).replace("-", "−")} ${unit}`,
  });
  const [, under80] = figures.under;
  const numbers = [
    count("contacts", "contacts", end.counted),
    count("earned", "strokes earned", end.earned),
    count("paced", "strokes paced", end.paced),
    count("primed", "strokes primed", end.primed),
    count("owed", "owed at midnight", end.owed),
    count("remainder", "remainder, parts of a stroke", end.remainder),
    count("most_owed", "most owed at once", day.mostOwed),
    ...SHED_CAUSES.filter((cause) => cause === "limit" || cause === "still").map((cause) =>
      count(`shed_${cause}`, SHED_LABELS[cause], shedBy(end, cause)),
    ),
    count("still_water", "made while no water flowed", intoStillWater(values.stretches, day.strokeMicros)),
    measure("dose_error", "dose error of the day", percent, "%"),
    measure("mean", "mean after mixing", figures.meanMgPerLitre, "mg/L"),
    measure("lowest", "lowest after mixing", figures.lowestMgPerLitre, "mg/L"),
    measure("highest", "highest after mixing", figures.peakMgPerLitre, "mg/L"),
    measure("under_80", "of the water below 80 % of the dose", percentOf(under80?.share), "%"),
  ];
  return { numbers, says: sentence(values, told, percent), brief: briefly(values, told, percent) };
}

const SHED_LABELS = { limit: "shed at the owed limit", still: "shed for still water" } as const;

function percentOf(share: number | undefined): number | undefined {
  return share === undefined ? undefined : share * 100;
}

/** Strokes made against those that the day's water asks for; undefined where no water was told of. */
function doseErrorPercent({ day: { end }, worth }: Told): number | undefined {
  return end.counted === 0 ? undefined : ((end.paced + end.primed) / (end.counted * worth) - 1) * 100;
}

function sentence({ input, settings }: Values, { day, worth }: Told, percent: number | undefined): string {
  const { end } = day;
  const ratio = `${settings.strokes}:${settings.contacts}`;
  if (percent === undefined) return "Not one contact closes in this day, so nothing is fed.";
  const gone = end.earned - end.paced - end.owed;
  const made = end.paced + end.primed;
  const dose = (numberIn(input.dose, "mg/L") * made) / (end.counted * worth);
  return (
    `Here a contact is worth ${showNumber(worth, 5)} strokes. At ${ratio}, ${many(end.counted, "contact")} ` +
    `${end.counted === 1 ? "earns" : "earn"} ${many(end.earned, "stroke")}: ${whole(end.paced)} made, ` +
    `${whole(gone)} shed, ${whole(end.owed)} owed at midnight` +
    (end.primed > 0 ? `, and ${whole(end.primed)} primed beside them` : "") +
    `. That is ${showNumber(dose, 4)} mg/L, ${offBy(percent)} the ${showNumber(numberIn(input.dose, "mg/L"), 4)} wanted. ` +
    `Most owed at once: ${day.mostOwed}` +
    (day.mostOwed > 0 ? `, at ${clock(day.mostOwedMicros)}.` : ".")
  );
}

function briefly({ settings }: Values, { day }: Told, percent: number | undefined): string {
  if (percent === undefined) return "Not one contact closes.";
  const { earned, paced, owed } = day.end;
  const error = showNumber(percent, 3).replace("-", "−");
  return (
    `${settings.strokes}:${settings.contacts}: dose error ${error} %, ${whole(earned - paced - owed)} shed, ` +
    `most owed ${day.mostOwed}.`
  );
}

function offBy(percent: number): string {
  if (Math.abs(percent) < 0.05) return "just";
  return `${showNumber(Math.abs(percent), 3)} % ${percent > 0 ? "more" : "less"} than`;
}
