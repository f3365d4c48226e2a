/**
 * `npx tsx bench/plan.ts`: how long does a plan's own arithmetic take? Bench.
 *
 * The whole plan with its findings and working, for two limits (two digits a term, and the largest that the pacer
 * takes), and what it adds to follow the dose through a mixing volume. A person notices about a tenth of a second.
 * Source: R. B. Miller, Response time in man-computer conversational transactions, AFIPS Fall Joint Computer
 * Conference, 1968.
 */
import { argv } from "node:process";
import { pathToFileURL } from "node:url";
import Fraction from "fraction.js";
import { downstreamOf } from "../harness/plan/downstream.js";
import {
  explain,
  findingsOf,
  LIMITS_DEFAULT,
  planFeed,
  type PlanInput,
  quantity,
  type RatioLimits,
} from "../lib/dosing/index.js";
import { RATIO_TERM_MAX } from "../lib/pacing/index.js";

const ROUNDS = 20;

const INPUT: PlanInput = {
  contactVolume: quantity("volume", 10, "gal"),
  dose: quantity("dose", "1.2", "mg/L"),
  demand: quantity("dose", "0.4", "mg/L"),
  strength: quantity("strength", "52.5", "g/L"),
  stroke: { from: "stated", volume: quantity("volume", "0.34", "mL") },
  capPerMinute: new Fraction(120),
  peak: quantity("flow", 15, "gal/min"),
  typical: quantity("flow", 8, "gal/min"),
  low: quantity("flow", 1, "gal/min"),
  tank: quantity("volume", 30, "gal"),
  mixingVolume: quantity("volume", 80, "gal"),
};

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) reportPlan();

/** Prints first and quickest time of each, and returns the lines that may be quoted. */
export function reportPlan(): string[] {
  const plan = planFeed(INPUT);
  console.log("A plan's own compute, ms of processor time");
  return [
    report("plan, limits of 100", () => {
      planWith(LIMITS_DEFAULT);
    }),
    report("plan, limits of 65,535", () => {
      planWith({ strokes: RATIO_TERM_MAX, contacts: RATIO_TERM_MAX });
    }),
    report("what the mixing volume makes of it", () => downstreamOf(plan)),
  ];
}

function planWith(limits: RatioLimits): void {
  const plan = planFeed({ ...INPUT, terms: { limits } });
  findingsOf(plan);
  explain(plan);
}

function report(name: string, work: () => void): string {
  const times = Array.from({ length: ROUNDS }, () => {
    const start = process.cpuUsage().user;
    work();
    return (process.cpuUsage().user - start) / 1_000;
  });
  const [first = NaN] = times;
  const line = `${name}: first ${first.toFixed(1)}, quickest ${Math.min(...times).toFixed(1)}`;
  console.log(`  ${line}`);
  return line;
}
