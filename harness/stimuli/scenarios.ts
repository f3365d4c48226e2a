/**
 * What is a controller put through, by name? All scenarios, in the order in which they are run. Harness layer.
 */
import { EDGE_SCENARIOS } from "./scenarios-edges.js";
import { FLOW_SCENARIOS } from "./scenarios-flow.js";
import { MODE_SCENARIOS } from "./scenarios-modes.js";
import type { Scenario } from "./scenario.js";

/** All of them. The recorded log is made from a file, and stands beside them. */
export const SCENARIOS: readonly Scenario[] = [...FLOW_SCENARIOS, ...EDGE_SCENARIOS, ...MODE_SCENARIOS];

export const RECORDED_LOG = {
  name: "recorded-log",
  about: "the log given with --log; without one the invented day of a creamery, in virtual time only",
} as const;
