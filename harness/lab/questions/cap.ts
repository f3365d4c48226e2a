/**
 * What does the rate cap do at peak flow? Harness layer.
 */
import { capBitesAt, metricOf, showNumber, strokesPerMinute } from "../../../lib/dosing/index.js";
import { HOUR, MINUTE } from "../../../lib/pacing/index.js";
import { clock, many, whole } from "../../report/words.js";
import type { Answer, Line, Show } from "../answer.js";
import { doseErrorOf } from "../day.js";
import { firstStretch, middleOf, ratioText, type Work } from "./work.js";

export function capAnswer(work: Work): Answer {
  const { plan, ratio } = work;
  const asked = strokesPerMinute(ratio, plan.duty.peak, plan.duty.contactVolume);
  const cap = plan.duty.capPerMinute;
  const bites = asked.gt(cap);
  return {
    id: "cap",
    question: "What does the cap do at peak flow?",
    guess: {
      ask: "How many strokes a minute does the peak ask for?",
      unit: "strokes/min",
      value: asked.valueOf(),
    },
    lines: [
      {
        says:
          `At ${metricOf(plan.duty.peak)} and ${ratioText(ratio)} the water asks for ${showNumber(asked.valueOf())} strokes a minute; ` +
          `the cap allows ${showNumber(cap.valueOf())}.`,
        working: `peak flow / contact volume · m/d = ${metricOf(plan.duty.peak)} / ${metricOf(plan.duty.contactVolume)} · ${ratio.strokes}/${ratio.contacts}`,
      },
      {
        says: `The cap bites above ${metricOf(capBitesAt(plan.duty, ratio))}.`,
        working: `cap · d/m · contact volume = ${showNumber(cap.valueOf())}/min · ${ratio.contacts}/${ratio.strokes} · ${metricOf(plan.duty.contactVolume)}`,
      },
      ...(bites
        ? bittenLines(work, asked.valueOf(), cap.valueOf())
        : spareLines(asked.valueOf(), cap.valueOf())),
    ],
    shows: [...peakShow(work), ...(bites ? [] : [tighterCap(asked.valueOf())])],
  };
}

function spareLines(asked: number, cap: number): Line[] {
  const spare = showNumber((cap / asked - 1) * 100, 3);
  return [
    {
      says:
        `So here it does nothing to the dose: it has ${spare} % to spare. It only keeps strokes ` +
        `${showNumber(60 / cap, 3)} s apart, whatever asks for them.`,
    },
  ];
}

function bittenLines({ values, day, worth }: Work, asked: number, cap: number): Line[] {
  const { owedLimitStrokes } = values.settings;
  const error = doseErrorOf(day, worth);
  const deepest = error.value.reduce((least, value) => Math.min(least, value), 0);
  const { shedLimit } = day.end;
  return [
    {
      says:
        `What the pump cannot make is owed: it grows by ${showNumber(asked - cap, 3)} strokes a minute, and reaches its limit of ` +
        `${owedLimitStrokes} after ${showNumber(owedLimitStrokes / (asked - cap), 3)} minutes of such flow.`,
      working: `${owedLimitStrokes} / (${showNumber(asked)} − ${showNumber(cap)})`,
    },
    {
      says:
        `On this day most is owed at ${clock(day.mostOwedMicros)}: ${many(day.mostOwed, "stroke")}. ` +
        `Beyond the limit ${many(shedLimit, "stroke")} ${shedLimit === 1 ? "is" : "are"} shed, counted and alarmed` +
        (shedLimit > 0
          ? `: that water is short for good, by ${showNumber((100 * shedLimit) / day.end.earned, 3)} % of the day's strokes.`
          : ", so all of it is fed when the flow goes down."),
    },
    {
      says: `While it lasts the water runs short: the dose error falls to ${showNumber(deepest, 4).replace("-", "−")} strokes. Only a larger stroke, a stronger solution or a faster pump mends that.`,
    },
  ];
}

function peakShow(work: Work): Show[] {
  const { day, plan } = work;
  const peak = plan.duty.peak.si.mul(60_000).valueOf();
  const stretch = firstStretch(work, ({ litresPerMinute }) => litresPerMinute >= peak * 0.999);
  if (stretch === undefined) return [];
  const atMicros = day.end.shedLimit > 0 ? day.mostOwedMicros : middleOf(stretch);
  return [{ label: "Look at the peak", atMicros, windowMicros: day.end.shedLimit > 0 ? HOUR : 10 * MINUTE }];
}

/** A cap that is too slow for the peak by a third. */
function tighterCap(asked: number): Show {
  const cap = showNumber(Math.max(0.1, (asked * 2) / 3), 2);
  return { label: `Set a cap of ${whole(Number(cap))}, too slow`, texts: { cap } };
}
