/**
 * Why is a ratio such as 3:2 better than a whole number such as 2:1? Harness layer.
 */
import { doseOfRatio, explain, exactIn, type Ratio, shown, showNumber } from "../../../lib/dosing/index.js";
import { MINUTE, RATIO_TERM_MAX } from "../../../lib/pacing/index.js";
import { many, whole } from "../../report/words.js";
import type { Answer, Line } from "../answer.js";
import { missPercent, ratioText, signedPercent, wholeRatios, type Work } from "./work.js";

export function ratioAnswer(work: Work): Answer {
  const blunt = nearestWhole(work);
  const fine = finerThan(work, blunt);
  const [first, second] = [ratioText(fine), ratioText(blunt)];
  const isSame = first === second || missPercent(work, blunt) === 0;
  return {
    id: "ratio",
    question: isSame
      ? `Why does ${second} need no finer ratio here?`
      : `Why is ${first} better than ${second} here?`,
    guess: {
      ask: `By how many percent does ${second} miss the dose?`,
      unit: "%",
      value: Math.abs(missPercent(work, blunt)),
    },
    lines: [...worthLines(work), ...(isSame ? exactLines(work, blunt) : compared(work, fine, blunt))],
    shows: isSame
      ? []
      : [
          { label: `Set ${second}`, texts: { ratio: second } },
          { label: `Set ${first}`, texts: { ratio: first }, windowMicros: 10 * MINUTE },
        ],
  };
}

/** The m:1 or 1:d that misses the dose least; of two equally far, the one that feeds more. */
function nearestWhole(work: Work): Ratio {
  const missed = (ratio: Ratio): number => Math.abs(missPercent(work, ratio));
  return wholeRatios(work.plan).reduce((best, ratio) => (missed(ratio) < missed(best) ? ratio : best), {
    strokes: RATIO_TERM_MAX,
    contacts: 1,
  });
}

/** The ratio that is set, if it misses less than the whole one; otherwise the plan's best. */
function finerThan(work: Work, blunt: Ratio): Ratio {
  const isFiner = Math.abs(missPercent(work, work.ratio)) < Math.abs(missPercent(work, blunt));
  return isFiner ? work.ratio : work.plan.best;
}

function worthLines({ plan }: Work): Line[] {
  return explain(plan)
    .filter(({ title }) => title === "Solution per contact" || title === "Strokes per contact")
    .map(({ title, formula, numbers, result }) => ({
      says: `${title}: ${result}.`,
      working: `${formula} = ${numbers}`,
    }));
}

function exactLines(work: Work, blunt: Ratio): Line[] {
  return [
    {
      says: `${ratioText(blunt)} gives ${shown(doseOfRatio(blunt, work.plan.duty))}, ${signedPercent(missPercent(work, blunt))} off the dose: a finer ratio could add nothing.`,
    },
  ];
}

function compared(work: Work, fine: Ratio, blunt: Ratio): Line[] {
  const { duty } = work.plan;
  const contacts = work.values.contacts.length;
  const astray = (contacts * blunt.strokes) / blunt.contacts - contacts * work.worth;
  const millilitres = Math.abs(astray) * exactIn(duty.strokeVolume, "mL").valueOf();
  const dosed = (ratio: Ratio): string =>
    `${shown(doseOfRatio(ratio, duty))}, ${signedPercent(missPercent(work, ratio))}`;
  return [
    { says: `${ratioText(blunt)} would give ${dosed(blunt)} off the dose, in every litre.` },
    { says: `${ratioText(fine)} gives ${dosed(fine)} off.` },
    {
      says:
        `Over this day's ${many(contacts, "contact")} the difference of ${ratioText(blunt)} from the dose grows to ` +
        `${whole(Math.round(Math.abs(astray)))} strokes, ${showNumber(millilitres, 3)} mL of solution too ${astray > 0 ? "much" : "little"}.`,
      working: `${whole(contacts)} · (${blunt.strokes}/${blunt.contacts} − ${showNumber(work.worth, 5)}) · ${shown(duty.strokeVolume)}`,
    },
    {
      says:
        `A pump cannot make part of a stroke, and need not: the remainder is carried exactly, so that contacts earn ` +
        `${firstEarnings(fine).join(", ")} … strokes in turn, and never stray by a whole one.`,
      working: `⌊k·${fine.strokes}/${fine.contacts}⌋ after k contacts`,
    },
  ];
}

function firstEarnings({ strokes, contacts }: Ratio): number[] {
  const earned = (k: number): number => Math.floor((k * strokes) / contacts);
  return Array.from({ length: 6 }, (_, k) => earned(k + 1) - earned(k));
}
