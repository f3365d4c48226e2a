/**
 * What does a long divide do at night, when little water flows? Harness layer.
 */
import Fraction from "fraction.js";
import {
  fromSi,
  metricOf,
  newPipe,
  numberIn,
  type Ratio,
  showNumber,
  spacingAt,
  strokesPerContact,
} from "../../../lib/dosing/index.js";
import { HOUR, MINUTE } from "../../../lib/pacing/index.js";
import { span } from "../../report/words.js";
import type { Answer } from "../answer.js";
import { firstStretch, middleOf, ratioText, type Work } from "./work.js";

/** The divide that is thought of where none is set. */
const DIVIDE_BY = 10;
/** Strokes until a mixing volume has found its rhythm, and then some that are looked at. */
const SETTLING = 60;
const LOOKED_AT = 20;

export function divideAnswer(work: Work): Answer {
  const { plan, ratio } = work;
  const isDivide = ratio.strokes < ratio.contacts;
  const divide: Ratio = isDivide ? ratio : { strokes: 1, contacts: DIVIDE_BY };
  const low = plan.duty.low ?? plan.duty.peak;
  const { longest } = spacingAt(divide, low, plan.duty, plan.layout);
  const minutes = numberIn(longest.time, "min");
  // The same dose with fewer strokes: each must carry more.
  const times = strokesPerContact(plan.duty).mul(DIVIDE_BY);
  const larger = `${showNumber(numberIn(plan.duty.strokeVolume, "mL") * times.valueOf(), 3)} mL`;
  const lowMicros = firstStretch(
    work,
    ({ litresPerMinute }) => litresPerMinute > 0 && litresPerMinute <= numberIn(low, "L/min") * 1.001,
  );
  const swing = swingAfter(work, divide);
  return {
    id: "divide",
    question: `What does a long divide such as ${ratioText(divide)} do at the lowest flow?`,
    guess: {
      ask: `How many minutes pass at most between two strokes, at ${metricOf(low)}?`,
      unit: "min",
      value: minutes,
    },
    lines: [
      ...(isDivide
        ? []
        : [
            {
              says: `${ratioText(divide)} can give the same dose if each stroke carries more: say ${larger} in place of ${metricOf(plan.duty.strokeVolume)}.`,
              working: `worth in strokes · ${DIVIDE_BY} = ${showNumber(times.valueOf())} times the stroke`,
            },
          ]),
      {
        says:
          `Then up to ${metricOf(longest.water)} of water pass between two strokes, whatever the flow. At the lowest flow of this ` +
          `day, ${metricOf(low)}, that takes ${span(Math.round(minutes * MINUTE))}.`,
        working: `contacts between strokes · contact volume / flow`,
      },
      {
        says:
          `On the whole the dose is right, but not in each litre: after ${metricOf(work.values.mixingVolume)} of mixing it swings from ` +
          `${showNumber(swing.low, 3)} to ${showNumber(swing.high, 3)} mg/L about the ${metricOf(plan.duty.dose)} wanted.`,
        working: `one stroke into ${metricOf(work.values.mixingVolume)} for every ${metricOf(waterPerStroke(work, divide))}, ideally mixed`,
      },
      {
        says:
          "Mean dose and even dose are two things. Many small strokes, a weaker solution or more mixing even it out; " +
          "a long divide asks for a tank that mixes.",
      },
    ],
    shows: [
      ...(isDivide
        ? []
        : [
            {
              label: `Set ${ratioText(divide)} and ${larger} a stroke`,
              texts: { ratio: ratioText(divide), "stroke-volume": larger },
            },
          ]),
      ...(lowMicros === undefined
        ? []
        : [{ label: "Look at the lowest flow", atMicros: middleOf(lowMicros), windowMicros: HOUR }]),
    ],
  };
}

function waterPerStroke({ plan }: Work, { strokes, contacts }: Ratio) {
  return fromSi("volume", plan.duty.contactVolume.si.mul(new Fraction(contacts, strokes)));
}

/** Lowest and highest concentration once the mixing volume, fed evenly with the dose by this ratio, has settled. */
function swingAfter(work: Work, ratio: Ratio): { readonly low: number; readonly high: number } {
  const { dose } = work.plan.duty;
  const perStroke = waterPerStroke(work, ratio);
  const everyMicros = MINUTE;
  const pipe = newPipe({
    mixingVolume: work.values.mixingVolume,
    tanks: 1,
    strokeMass: fromSi("mass", perStroke.si.mul(dose.si)),
    wanted: dose,
    start: dose,
    countFromMicros: SETTLING * everyMicros,
  });
  pipe.flow(0, numberIn(perStroke, "L") / 60);
  for (let k = 1; k <= SETTLING + LOOKED_AT; k++) pipe.stroke(k * everyMicros);
  const { lowestMgPerLitre = 0, peakMgPerLitre = 0 } = pipe.figures();
  return { low: lowestMgPerLitre, high: peakMgPerLitre };
}
