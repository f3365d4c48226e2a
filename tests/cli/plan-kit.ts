/**
 * Plans for the tests of `tallystroke plan`: one that is sound, and terms written as options.
 */
import { type Ended, run } from "./kit.js";

/** Terms of a plan by name; one that is undefined is left out. */
export interface Terms {
  readonly [name: string]: string | undefined;
}

/** A plan that is sound and can be met: 10 gal contacts, 5.25 % solution, 0.34 mL strokes. */
export const SOUND = {
  "contact-volume": "10 gal",
  dose: "1.2 mg/L",
  strength: "5.25 %",
  "stroke-volume": "0.34 mL",
  cap: "120",
  peak: "15 gal/min",
};

export function argsOf(terms: Terms): string[] {
  return Object.entries(terms).flatMap(([name, text]) => (text === undefined ? [] : [`--${name}=${text}`]));
}

export function runPlan(args: readonly string[]): Promise<Ended> {
  return run("plan", ...args);
}
