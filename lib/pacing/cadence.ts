/**
 * When is the next owed stroke due? Pacing layer.
 *
 * `spread` cuts the time until the next contact is expected (the last interval, or the still-water grace if that is
 * shorter) into as many equal slices as strokes are owed, and puts a stroke in the middle of each: evenly spaced
 * from contact to contact, and half a slice of room at the end, so that a contact that comes a little early finds
 * nothing still owed. `prompt` plans every stroke for now. The cap then holds back whatever would come too close.
 * The slices are laid with a carried rest, as one draws a straight line on a raster: no rounding adds up.
 */
import type { Micros } from "./limits.js";
import type { State } from "./state.js";

/** Lays out all that is owed, from `fromMicros` on. */
export function planStrokes(s: State, fromMicros: Micros): void {
  s.planMicros = fromMicros;
  s.planStepMicros = 0;
  s.planStepRest = 0;
  s.planParts = 1;
  s.planCarry = 0;
  if (s.settings.cadence === "prompt" || s.owed === 0) return;
  const span = spanMicros(s, fromMicros);
  s.planParts = s.owed;
  s.planStepRest = span % s.owed;
  s.planStepMicros = (span - s.planStepRest) / s.owed;
  // Slices shorter than the least spacing leave it to the cap to lay the strokes out: then every moment counts.
  if (s.planStepMicros < s.settings.leastSpacingMicros) return;
  s.planMicros += (s.planStepMicros - (s.planStepMicros % 2)) / 2;
}

function spanMicros(s: State, fromMicros: Micros): Micros {
  const graceLeft = s.contactMicros + s.settings.graceMicros - fromMicros;
  // After a change to a shorter grace: what is owed is shed within this step, or a closure that qualifies keeps it.
  if (graceLeft < 0) return 0;
  return s.intervalMicros < graceLeft ? s.intervalMicros : graceLeft;
}

/** Moves the plan on by one stroke. */
export function planNext(s: State): void {
  s.planMicros += s.planStepMicros;
  s.planCarry += s.planStepRest;
  if (s.planCarry >= s.planParts) {
    s.planCarry -= s.planParts;
    s.planMicros += 1;
  }
}

/** Whether a stroke of either cause is to come, as things stand. */
export function isStrokeWanted(s: State): boolean {
  return s.owed > 0 || s.priming !== 0;
}

/** Whether it may be made now: as planned, but never closer to the last stroke than the cap allows. */
export function isStrokeDue(s: State): boolean {
  return (
    isStrokeWanted(s) &&
    s.nowMicros >= s.strokeMicros + s.settings.leastSpacingMicros &&
    s.nowMicros >= (s.priming ? primePlanMicros(s) : s.planMicros)
  );
}

/** Sets the wake-up to when it will be due, or to the deadline, if that is sooner. */
export function setWake(s: State): void {
  s.wakeAtMicros = s.deadlineMicros;
  if (!isStrokeWanted(s)) return;
  const planned = s.priming ? primePlanMicros(s) : s.planMicros;
  const allowed = s.strokeMicros + s.settings.leastSpacingMicros;
  if (planned < s.wakeAtMicros && allowed < s.wakeAtMicros)
    s.wakeAtMicros = planned > allowed ? planned : allowed;
}

/** The first primed stroke comes with the press, each other one spacing after the last. */
function primePlanMicros(s: State): Micros {
  return s.strokeMicros < s.primeSinceMicros
    ? s.primeSinceMicros
    : s.strokeMicros + s.settings.primeSpacingMicros;
}
