/**
 * The dosing arithmetic: quantities, feed, solution, ratio, plan, contact time. Pure, no I/O.
 *
 * @module
 */
export { exact } from "./units.js";
export * from "./quantity.js";
export * from "./types.js";
export * from "./show.js";
export * from "./feed.js";
export * from "./demand.js";
export * from "./solution.js";
export * from "./decay.js";
export * from "./pump.js";
export * from "./drawdown.js";
export * from "./drawdown-findings.js";
export * from "./drawdown-figures.js";
export {
  type FittedLine,
  GRUBBS_SOURCE,
  type GrubbsTest,
  INTERVAL_SOURCE,
  type MeanInterval,
  meanInterval,
} from "./drawdown-statistics.js";
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
export { type MassBalance, newPipe, type Pipe, type PipeFigures, type PipeTerms } from "./pipe.js";
export { drivePipe, type PassingEvent, type PipeDriver } from "./drive-pipe.js";
export { STEADY_BAND, UNDER_PARTS, type Watched } from "./watch.js";
export { TANKS_MOST } from "./tanks.js";
