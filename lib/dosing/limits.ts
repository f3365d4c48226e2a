/**
 * What numbers may a dosing plan not pass without a word? Published limits, each with its source. Dosing layer.
 */
import { quantity } from "./quantity.js";

/** Highest residual: maximum residual disinfectant level for chlorine, as a running annual average. */
export const HIGHEST_RESIDUAL = quantity("dose", 4, "mg/L");
export const HIGHEST_RESIDUAL_SOURCE =
  "40 CFR 141.65, maximum residual disinfectant level for chlorine, as restated in COMAR 26.04.01.23";

/** Lowest residual at the entry point, for no more than 4 hours. */
export const LOWEST_RESIDUAL = quantity("dose", "0.2", "mg/L");
export const LOWEST_RESIDUAL_SOURCE = "40 CFR 141.72, residual at the entry point, as answered by US EPA";

/** Usual maximum use level of certified hypochlorite; the number is from memory, the product's listing decides. */
export const USUAL_MAXIMUM_USE = quantity("dose", 10, "mg/L");
export const USUAL_MAXIMUM_USE_SOURCE =
  "NSF/ANSI/CAN 60, maximum use level usual in listings of sodium hypochlorite (from memory; the product's own listing " +
  "decides); the dose may not exceed it: EPB 432, Saskatchewan Water Security Agency, 2014";

/** Longest storage of hypochlorite. */
export const LONGEST_STORAGE = quantity("duration", 45, "days");
export const LONGEST_STORAGE_SOURCE = "DW Module 25 Hypochlorite, answer key, Pennsylvania DEP, 2013";

/** Strengths of hypochlorite solutions as delivered or diluted for feeding; outside, the basis is asked for. */
export const PLAUSIBLE_STRENGTH = {
  least: quantity("strength", "0.5", "g/L"),
  most: quantity("strength", 150, "g/L"),
} as const;
export const PLAUSIBLE_STRENGTH_SOURCE =
  "sodium hypochlorite is delivered at 12 to 15 %: DW Module 25 Hypochlorite, answer key, Pennsylvania DEP, 2013; " +
  "least: common practice, no source";

export const FEEDER_CAPACITY_SOURCE =
  "feed proportional to flow: 35 Ill. Adm. Code 604.1105, Illinois, 2024; sized on the greatest instantaneous flow: " +
  "MIL-HDBK-1005/7A, 6.12.2.5, US Department of Defense, 2001";
