/**
 * `npx tsx bench/plan.ts`: how long does a plan's own arithmetic take? Bench.
 *
 * Choosing the ratio and following it from low flow to peak, for two limits: two digits a term, and the largest that
 * the pacer takes. A person notices about a tenth of a second. Source: R. B. Miller, Response time in man-computer
 * conversational transactions, AFIPS Fall Joint Computer Conference, 1968.
 */
import { argv } from "node:process";
import { pathToFileURL } from "node:url";
import Fraction from "fraction.js";
import { chooseRatio, LIMITS_DEFAULT } from "../lib/dosing/choose.js";
import { quantity } from "../lib/dosing/quantity.js";
import type { RatioLimits } from "../lib/dosing/ratio.js";
import { turndown } from "../lib/dosing/turndown.js";
import type { FeedDuty } from "../lib/dosing/types.js";
import { RATIO_TERM_MAX } from "../lib/pacing/index.js";

const ROUNDS = 20;

const DUTY: FeedDuty = {
  contactVolume: quantity("volume", 10, "gal"),
  dose: quantity("dose", "1.2", "mg/L"),
  strength: quantity("strength", "52.5", "g/L"),
  strokeVolume: quantity("volume", "0.34", "mL"),
  capPerMinute: new Fraction(120),
  peak: quantity("flow", 15, "gal/min"),
  typical: quantity("flow", 8, "gal/min"),
  low: quantity("flow", 1, "gal/min"),
};

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) reportPlan();

/** Prints first and quickest time for each limit, and returns the lines that may be quoted. */
export function reportPlan(): string[] {
  console.log("A plan's own arithmetic, ms");
  return [
    reportLimits("limits of 100", LIMITS_DEFAULT),
    reportLimits("limits of 65,535", { strokes: RATIO_TERM_MAX, contacts: RATIO_TERM_MAX }),
  ];
}

function reportLimits(name: string, limits: RatioLimits): string {
  const times = Array.from({ length: ROUNDS }, () => {
    const start = performance.now();
    const { nearest } = chooseRatio(DUTY, { limits });
    turndown(DUTY, nearest);
    return performance.now() - start;
  });
  const [first = NaN] = times;
  const line = `plan, ${name}: first ${first.toFixed(1)} ms, quickest ${Math.min(...times).toFixed(1)} ms`;
  console.log(`  ${line}`);
  return line;
}
