/**
 * Why must still water not be dosed? Harness layer.
 */
import { fromSi, metricOf, numberIn, showNumber } from "../../../lib/dosing/index.js";
import { DAY, MINUTE } from "../../../lib/pacing/index.js";
import { formatDuration } from "../../files/quantity.js";
import { many } from "../../report/words.js";
import type { Answer, Line, Show } from "../answer.js";
import { runDay } from "../day.js";
import { intoStillWater } from "../downstream.js";
import { firstStretch, otherSettings, type Work } from "./work.js";

export function stillAnswer(work: Work): Answer {
  const { strokeVolume, strength, dose } = work.plan.duty;
  const milligrams = numberIn(fromSi("mass", strokeVolume.si.mul(strength.si)), "mg");
  const inMixing = milligrams / numberIn(work.values.mixingVolume, "L");
  return {
    id: "still",
    question: "Why must still water not be dosed?",
    guess: {
      ask: "One more stroke into one litre that stands still: how many mg/L does it add?",
      unit: "mg/L",
      value: milligrams,
    },
    lines: [
      {
        says:
          `One stroke carries ${showNumber(milligrams)} mg of chlorine. Water that flows takes it along; water that stands keeps it ` +
          `where it is: one litre around the injection gets ${showNumber(milligrams)} mg/L more, ` +
          `${showNumber(milligrams / numberIn(dose, "mg/L"), 3)} times the dose.`,
        working: `${metricOf(strokeVolume)} · ${metricOf(strength)}`,
      },
      {
        says: `Even if all ${metricOf(work.values.mixingVolume)} of mixing volume took part, each such stroke would add ${showNumber(inMixing, 3)} mg/L, and whoever opens a tap first drinks it.`,
        working: `${showNumber(milligrams)} mg / ${metricOf(work.values.mixingVolume)}`,
      },
      ...graceLines(work),
      {
        says:
          "Contacts tell only of water that has passed, never that it still flows. So the grace bounds the harm, and a flow switch " +
          "that forbids strokes without flow belongs beside any pacing signal.",
      },
    ],
    shows: stopShow(work),
  };
}

/** What the grace that is set does on this day, against one of a whole day. */
function graceLines({ values, day }: Work): Line[] {
  const still = intoStillWater(values.stretches, day.strokeMicros);
  const { shedStill } = day.end;
  const lines: Line[] = [
    {
      says:
        `With a grace of ${formatDuration(values.settings.graceMicros)}, ${many(still, "stroke")} of this day ${still === 1 ? "falls" : "fall"} into still water, ` +
        `and ${many(shedStill, "stroke")} that ${shedStill === 1 ? "was" : "were"} still owed ${shedStill === 1 ? "is" : "are"} shed, counted and alarmed.`,
    },
  ];
  const patient = otherSettings(values.settings, { graceMicros: DAY });
  if (patient !== undefined && values.settings.graceMicros < DAY) {
    const then = intoStillWater(values.stretches, runDay(patient, values.contacts).strokeMicros);
    lines.push({ says: longerGrace({ still, then, shedStill }) });
  }
  return lines;
}

function longerGrace({ still, then, shedStill }: { still: number; then: number; shedStill: number }): string {
  if (then > still) {
    return `With a grace of a whole day there would be ${many(then, "stroke")} into still water, and none shed for it.`;
  }
  return shedStill === 0
    ? "A longer grace would change nothing here: what a contact earns is made before it ends. It would if the cap were slow, or contacts far apart."
    : "A longer grace would put no more into still water here: what is shed was owed while water still flowed, with contacts further apart than the grace. It bounds the harm and has this price.";
}

function stopShow(work: Work): Show[] {
  const stop = firstStretch(
    work,
    ({ litresPerMinute }, next) => litresPerMinute > 0 && next?.litresPerMinute === 0,
  );
  if (stop === undefined)
    return [{ label: "Take a day in which the pump stops", texts: { pattern: "tank" } }];
  return [
    {
      label: "Look at where the flow stops",
      atMicros: stop.untilMicros + MINUTE,
      windowMicros: 10 * MINUTE,
    },
  ];
}
