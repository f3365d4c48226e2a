/**
 * The fifteen laws that any pacing controller owes, as judges over traces.
 *
 * @module
 */
export { judgeTrace, type JudgeOptions, type TraceJudgement } from "./judge.js";
export { type Answer, LAW_NAMES, type LawName, LAWS, type Verdict } from "./law.js";
export { judgePair, type PairJudge } from "./pair.js";
export { type Give, shifted, withBounce, withExtraWakes, withPowerCuts } from "./vary.js";
