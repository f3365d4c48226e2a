/**
 * How would the accounts stand had the stroke under way not been made? Harness layer, pure.
 */
import type { State } from "../../lib/pacing/index.js";

/**
 * The stroke is owed again, or given up under the stop that stands, or at the owed limit: as if it had been owed when
 * that came. A primed one is just not made. The guard's budget stays used up.
 */
export function unmadeState(s: Readonly<State>, cause: "paced" | "primed"): State {
  if (cause === "primed") return { ...s, primed: s.primed - 1 };
  const unpaid = { ...s, paced: s.paced - 1 };
  if (s.tripped === 1) return { ...unpaid, shedTrip: s.shedTrip + 1 };
  if (s.inhibits !== 0) return { ...unpaid, shedInhibit: s.shedInhibit + 1 };
  if (s.held === 1) return { ...unpaid, shedHold: s.shedHold + 1 };
  if (s.owed >= s.settings.owedLimitStrokes) return { ...unpaid, shedLimit: s.shedLimit + 1 };
  return { ...unpaid, owed: s.owed + 1 };
}
