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

const NOTHING: readonly Effect[] = Object.freeze([]);

/** The effects of one step, from the states before and after it. */
export function effectsBetween(before: Readonly<State>, after: Readonly<State>): readonly Effect[] {
  const atMicros = after.nowMicros;
  const effects: Effect[] = [];
  const counted = after.counted - before.counted;
  if (counted > 0) {
    effects.push({ kind: "counted", atMicros, contacts: counted, earned: after.earned - before.earned });
  }
  const ignored = after.ignored - before.ignored;
  if (ignored > 0) effects.push({ kind: "ignored", atMicros, contacts: ignored });
  const rejected = after.rejected - before.rejected;
  if (rejected > 0) effects.push({ kind: "rejected", atMicros, contacts: rejected });
  // By the balance of earned = paced + owed + shed.
  if (after.earned - after.paced - after.owed > before.earned - before.paced - before.owed)
    pushShed(effects, before, after);
  if (after.paced > before.paced) effects.push({ kind: "paced", atMicros });
  if (after.primed > before.primed) effects.push({ kind: "primed", atMicros });
  if (after.refused > before.refused) effects.push({ kind: "refused", atMicros });
  if ((after.raised | after.cleared) !== 0) pushAlarms(effects, after);
  return effects.length === 0 ? NOTHING : effects;
}

function pushShed(effects: Effect[], before: Readonly<State>, after: Readonly<State>): void {
  for (let i = 0; i < SHED_CAUSES.length; i++) {
    const cause = SHED_CAUSES[i] as ShedCause;
    const strokes = shedBy(after, cause) - shedBy(before, cause);
    if (strokes > 0) effects.push({ kind: "shed", atMicros: after.nowMicros, cause, strokes });
  }
}

// One that stands after the step was raised last; one that does not was cleared last.
function pushAlarms(effects: Effect[], after: Readonly<State>): void {
  const atMicros = after.nowMicros;
  for (let i = 0; i < ALARMS.length; i++) {
    const alarm = ALARMS[i] as Alarm;
    const bit = 1 << i;
    const on: Effect | false = (after.raised & bit) !== 0 && { kind: "alarm-on", atMicros, alarm };
    const off: Effect | false = (after.cleared & bit) !== 0 && { kind: "alarm-off", atMicros, alarm };
    const stands = (after.alarms & bit) !== 0;
    if (stands && off) effects.push(off);
    if (on) effects.push(on);
    if (!stands && off) effects.push(off);
  }
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
