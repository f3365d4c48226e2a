/**
 * What happened between two states? Effects as data, told from the tallies alone.
 *
 * Pacing layer. The names are the trace's names for outputs. Order within a step: what became of contacts, what was
 * shed, the stroke, settings refused, alarms.
 */
import type { Micros } from "./limits.js";
import { type Alarm, ALARMS, SHED_CAUSES, type ShedCause, type State } from "./state.js";

export type Effect =
  /** Contacts that qualified and earned, with the whole strokes that they earned. */
  | {
      readonly kind: "counted";
      readonly atMicros: Micros;
      readonly contacts: number;
      readonly earned: number;
    }
  /** Contacts that did not earn (held, or ignored while priming), or that came too fast to be real. */
  | { readonly kind: "ignored" | "rejected"; readonly atMicros: Micros; readonly contacts: number }
  /** Drive the pump through one full stroke, now. */
  | { readonly kind: "paced" | "primed"; readonly atMicros: Micros }
  | {
      readonly kind: "shed";
      readonly atMicros: Micros;
      readonly cause: ShedCause;
      readonly strokes: number;
    }
  /** A change of settings was refused. */
  | { readonly kind: "refused"; readonly atMicros: Micros }
  | { readonly kind: "alarm-on" | "alarm-off"; readonly atMicros: Micros; readonly alarm: Alarm };

type Effects = readonly Effect[];
const NOTHING: Effects = Object.freeze([]);

/** The effects of one step, from the states before and after it. */
export function effectsBetween(before: Readonly<State>, after: Readonly<State>): readonly Effect[] {
  const atMicros = after.nowMicros;
  let effects = NOTHING;
  const counted = after.counted - before.counted;
  if (counted > 0) {
    effects = and(effects, {
      kind: "counted",
      atMicros,
      contacts: counted,
      earned: after.earned - before.earned,
    });
  }
  const ignored = after.ignored - before.ignored;
  if (ignored > 0) effects = and(effects, { kind: "ignored", atMicros, contacts: ignored });
  const rejected = after.rejected - before.rejected;
  if (rejected > 0) effects = and(effects, { kind: "rejected", atMicros, contacts: rejected });
  // By the balance of earned = paced + owed + shed.
  if (after.earned - after.paced - after.owed > before.earned - before.paced - before.owed) {
    effects = andShed(effects, before, after);
  }
  if (after.paced > before.paced) effects = and(effects, { kind: "paced", atMicros });
  if (after.primed > before.primed) effects = and(effects, { kind: "primed", atMicros });
  if (after.refused > before.refused) effects = and(effects, { kind: "refused", atMicros });
  return (after.raised | after.cleared) === 0 ? effects : andAlarms(effects, before, after);
}

// Most steps have one or two effects: arrays made to measure, since one that grows starts with room for many.
function and(effects: Effects, effect: Effect): Effects {
  if (effects.length === 0) return [effect];
  return effects.length === 1 ? [effects[0] as Effect, effect] : effects.concat([effect]);
}

function andShed(effects: Effects, before: Readonly<State>, after: Readonly<State>): Effects {
  let more = effects;
  for (let i = 0; i < SHED_CAUSES.length; i++) {
    const cause = SHED_CAUSES[i] as ShedCause;
    const strokes = shedBy(after, cause) - shedBy(before, cause);
    if (strokes > 0) more = and(more, { kind: "shed", atMicros: after.nowMicros, cause, strokes });
  }
  return more;
}

// On and off by turns, whatever happened within the step: an alarm that stood goes off before it comes on again.
function andAlarms(effects: Effects, before: Readonly<State>, after: Readonly<State>): Effects {
  const atMicros = after.nowMicros;
  let more = effects;
  for (let i = 0; i < ALARMS.length; i++) {
    const alarm = ALARMS[i] as Alarm;
    const bit = 1 << i;
    const stands = (after.alarms & bit) !== 0;
    if ((before.alarms & after.cleared & bit) !== 0) more = and(more, { kind: "alarm-off", atMicros, alarm });
    else if (!stands && (after.raised & bit) !== 0) {
      more = and(more, { kind: "alarm-on", atMicros, alarm });
      more = and(more, { kind: "alarm-off", atMicros, alarm });
    }
    if (stands && (after.raised & bit) !== 0) more = and(more, { kind: "alarm-on", atMicros, alarm });
  }
  return more;
}

/** Strokes shed so far for one cause. */
export function shedBy(s: Readonly<State>, cause: ShedCause): number {
  switch (cause) {
    case "limit":
      return s.shedLimit;
    case "still":
      return s.shedStill;
    case "hold":
      return s.shedHold;
    case "inhibit":
      return s.shedInhibit;
    case "trip":
      return s.shedTrip;
    case "power":
      return s.shedPower;
  }
}

/** The names of the alarms that stand. */
export function standingAlarms(s: Readonly<State>): Alarm[] {
  return ALARMS.filter((_, i) => (s.alarms & (1 << i)) !== 0);
}
