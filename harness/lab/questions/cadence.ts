/**
 * What is the difference between spread and prompt? Harness layer.
 */
import { doseOfRatio, metricOf, showNumber } from "../../../lib/dosing/index.js";
import { MINUTE } from "../../../lib/pacing/index.js";
import { type Downstream, downstreamOf } from "../../plan/downstream.js";
import type { Answer, Line } from "../answer.js";
import { middleOf, firstStretch, type Work } from "./work.js";

export function cadenceAnswer(work: Work): Answer {
  const { plan, ratio, values } = work;
  // The plan's own look downstream, at steady flows, for the ratio that is set.
  const best = { ...plan.best, ...ratio, dose: doseOfRatio(ratio, plan.duty) };
  const steady = downstreamOf({ ...plan, best });
  const other = values.settings.cadence === "spread" ? "prompt" : "spread";
  const flowing = firstStretch(work, ({ litresPerMinute }) => litresPerMinute > 0);
  return {
    id: "cadence",
    question: "Is spread kinder to the water than prompt?",
    guess: {
      ask: "With prompt at steady peak flow, how many times the mean is the highest concentration after mixing?",
      unit: "times",
      value: steady.find(({ at, cadence }) => at === "peak" && cadence === "prompt")?.peakToMean ?? 1,
    },
    lines: [
      {
        says:
          "Both make the same strokes for the same contacts. Prompt makes those of one contact as fast as the cap allows; spread " +
          "lays them out evenly until the next contact is due.",
      },
      ...flowLine(work, steady, "low"),
      ...flowLine(work, steady, "peak"),
      { says: verdict(steady) },
    ],
    shows: [
      {
        label: `Set ${other}`,
        texts: { cadence: other },
        windowMicros: 2 * MINUTE,
        ...(flowing === undefined ? {} : { atMicros: middleOf(flowing) }),
      },
    ],
  };
}

function flowLine({ plan }: Work, steady: readonly Downstream[], at: "low" | "peak"): Line[] {
  const rows = steady.filter((row) => row.at === at);
  const flow = at === "low" ? plan.duty.low : plan.duty.peak;
  if (rows.length === 0 || flow === undefined) return [];
  const parts = rows.map(
    ({ cadence, peakToMean, under80Percent }) =>
      `with ${cadence} to ${showNumber(peakToMean, 4)} times the mean, ${showNumber(under80Percent * 100, 2)} % of the water below 80 % of the dose`,
  );
  return [
    {
      says: `At a steady ${metricOf(flow)}, the ${at === "low" ? "lowest" : "highest"} flow of the day, the concentration after mixing comes up ${parts.join("; ")}.`,
    },
  ];
}

/** A difference of less than this part is called none. */
const ALIKE = 0.002;

function verdict(steady: readonly Downstream[]): string {
  const worst = (wanted: string): number =>
    Math.max(1, ...steady.filter(({ cadence }) => cadence === wanted).map(({ peakToMean }) => peakToMean));
  const [spread, prompt] = [worst("spread"), worst("prompt")];
  if (Math.abs(prompt / spread - 1) < ALIKE) {
    return (
      "Here the two come to the same: a contact earns few strokes, the cap leaves no room, or the mixing volume is large beside " +
      "one contact's water."
    );
  }
  return prompt > spread
    ? "Spread keeps the water more even, and so needs less mixing."
    : "Here spread is the less even of the two: contacts are further apart than the grace, into which it must fit its strokes.";
}
