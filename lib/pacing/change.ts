/**
 * What happens to a running pacer when its settings change? Pacing layer.
 */
import { planStrokes } from "./cadence.js";
import { shedBeyondLimit } from "./ledger.js";
import type { Micros } from "./limits.js";
import type { Settings } from "./settings.js";
import { CHANGE_REFUSED, clear, raise, type State } from "./state.js";

/**
 * Puts new settings in force, or refuses an unconfirmed change that multiplies the feed beyond `largestIncrease`.
 * The remainder carries over, rounded down to the new denominator; what is owed stays owed, up to the new limit.
 */
export function changeSettings(s: State, atMicros: Micros, next: Settings, confirmed: boolean): void {
  if (!confirmed && increasesTooMuch(s.settings, next)) {
    s.refused += 1;
    raise(s, CHANGE_REFUSED);
    return;
  }
  clear(s, CHANGE_REFUSED);
  s.remainder = carriedRemainder(s.remainder, s.settings, next);
  carryGuard(s, atMicros, next);
  s.settings = next;
  shedBeyondLimit(s);
  planStrokes(s, atMicros);
}

/** m'/d' > factor · m/d, in whole numbers. */
function increasesTooMuch(now: Settings, next: Settings): boolean {
  return next.strokes * now.contacts > now.largestIncrease * now.strokes * next.contacts;
}

/** ⌊remainder · d'/d⌋: the same part of a stroke over the new denominator, never more. */
export function carriedRemainder(
  remainder: number,
  from: { contacts: number },
  to: { contacts: number },
): number {
  const scaled = remainder * to.contacts;
  return (scaled - (scaled % from.contacts)) / from.contacts;
}

/**
 * What the old guard had used up counts against a new one, rounded up, but never shuts it outright. The same guard goes
 * on exactly as it was: a change of something else must not buy a stroke. Without a guard it is kept, and refills.
 */
function carryGuard(s: State, atMicros: Micros, next: Settings): void {
  if (next.guardBudgetStrokes === 0 || isSameGuard(s.settings, next)) return;
  const fullest = atMicros + next.guardToleranceMicros;
  if (s.guardFullRest > 0) s.guardFullMicros += 1;
  s.guardFullRest = 0;
  if (s.guardFullMicros > fullest) s.guardFullMicros = fullest;
}

function isSameGuard(now: Settings, next: Settings): boolean {
  return (
    now.guardBudgetStrokes === next.guardBudgetStrokes &&
    now.guardPeriodMicros === next.guardPeriodMicros &&
    now.guardBurstStrokes === next.guardBurstStrokes
  );
}
