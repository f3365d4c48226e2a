/**
 * How would the accounts stand had the stroke under way not been made? Harness layer, pure.
 */
import type { ShedCause, State } from "../../lib/pacing/index.js";

/** Why a paced stroke, were it owed again, would be shed by now; undefined while it can be owed. */
export function shedByNow(s: Readonly<State>): ShedCause | undefined {
  if (s.tripped === 1) return "trip";
  if (s.inhibits !== 0) return "inhibit";
  if (s.held === 1) return "hold";
  return s.owed >= s.settings.owedLimitStrokes ? "limit" : undefined;
}

const SHED_FIELDS = {
  limit: "shedLimit",
  still: "shedStill",
  hold: "shedHold",
  inhibit: "shedInhibit",
  trip: "shedTrip",
  power: "shedPower",
} as const satisfies { readonly [cause in ShedCause]: keyof State };

/**
 * The stroke is owed again, or was `shed` at some moment since; a primed one is just not made. The guard's budget stays
 * used up.
 */
export function unmadeState(
  s: Readonly<State>,
  cause: "paced" | "primed",
  shed: ShedCause | undefined,
): State {
  if (cause === "primed") return { ...s, primed: s.primed - 1 };
  const unpaid = { ...s, paced: s.paced - 1 };
  if (shed === undefined) return { ...unpaid, owed: s.owed + 1 };
  const field = SHED_FIELDS[shed];
  return { ...unpaid, [field]: s[field] + 1 };
}
