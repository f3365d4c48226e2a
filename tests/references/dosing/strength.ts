/**
 * Strengths of the reference checks, as their sources write them.
 */
import { parseStrength as parse } from "../../../lib/dosing/solution.js";
import type { Strength } from "../../../lib/dosing/quantity.js";
import { exact } from "../../../lib/dosing/units.js";

/** A strength that is known to be sound. */
export function strengthOf(text: string, specificGravity?: string): Strength {
  const parsed = parse(text, specificGravity === undefined ? undefined : exact(specificGravity));
  if (!parsed.ok) throw new Error(`${text}: ${parsed.fault}`);
  return parsed.value;
}
