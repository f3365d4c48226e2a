/**
 * The dosing arithmetic: quantities, feed, solution, ratio, plan, contact time. Pure, no I/O.
 *
 * @module
 */
export * from "./quantity.js";
export * from "./types.js";
export * from "./show.js";
export * from "./feed.js";
export * from "./demand.js";
export * from "./solution.js";
export * from "./decay.js";
export * from "./pump.js";
export * from "./contact-time.js";
export * from "./limits.js";
export * from "./plan.js";
export * from "./findings.js";
export * from "./explain.js";
export * from "./ratio.js";
export * from "./choose.js";
export * from "./mend.js";
export * from "./spacing.js";
export * from "./turndown.js";
