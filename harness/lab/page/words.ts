/**
 * What must be said wherever a student could be led to act? Harness layer, page.
 */
import { FULL_STROKE_STATEMENT } from "../../../lib/pacing/index.js";

export const CARE: readonly string[] = [
  "A simulation is not a measurement of water. All flow here is invented, and the mixing volume is an ideal one: real pipes mix less well.",
  FULL_STROKE_STATEMENT,
  "Hypochlorite burns skin and eyes, and makes poisonous gas with acid or ammonia. A wrong dose harms people: too little leaves " +
    "the water unsafe, too much puts chlorine in it. Local codes, product labels and a licensed operator or engineer decide; " +
    "measure the residual at the tap before anyone drinks.",
];
