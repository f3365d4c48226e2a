/**
 * Was there cause to give up what was shed? A part of law 1: a stroke given up for nothing is water without its dose.
 *
 * Laws layer. Each cause must stand when it is told: more owed than the limit, water still for the grace, a hold, an
 * inhibit, a trip, a restart. What the controller says that it earned is taken at its word; others judge that.
 */
import type { Micros } from "../pacing/index.js";
import type { TraceEvent } from "../trace/index.js";
import { finding } from "./law.js";
import { earnedBy, isUnsettled, type Reckoning } from "./reckoning.js";
import type { Standing } from "./standing.js";

type Shed = Extract<TraceEvent, { readonly kind: "shed" }>;

type Stop = "hold" | "inhibit" | "trip";

/** With a tolerance, a cause that stood that shortly before is cause enough. */
export function shedding({ toleranceMicros, startKnown, tells, isLate: isDrivenLate }: Standing) {
  const found = finding("proportion", "strokes");
  const stoppedUntil: { [stop in Stop]: Micros } = { hold: -Infinity, inhibit: -Infinity, trip: -Infinity };
  let counted = 0;
  let countedMicros: Micros = -Infinity;
  let stillUntil: Micros = -Infinity;
  let restartMicros: Micros = -Infinity;
  /** A trip told of counts until the next reset, even if it may have come before the last one. */
  let isTripped = false;
  /** A shedding by a trip that is not told of yet: the alarm comes after it, in the same step. */
  let awaitsTrip: Shed | undefined;

  const isJustPast = (micros: Micros, atMicros: Micros): boolean =>
    toleranceMicros > 0 && atMicros <= micros + toleranceMicros;
  const isStill = (atMicros: Micros, { settings }: Reckoning): boolean =>
    atMicros - countedMicros + toleranceMicros >= settings.graceMicros;

  const blame = ({ atMicros, strokes, cause }: Shed, why: string): void => {
    found.weigh(false, -strokes, atMicros, () => `${strokes} earned strokes shed (${cause}), but ${why}`);
  };

  const note = (event: TraceEvent, r: Reckoning): void => {
    const { atMicros } = event;
    if (r.held) stoppedUntil.hold = atMicros;
    if (r.inhibits.length > 0) stoppedUntil.inhibit = atMicros;
    if (isTripped) stoppedUntil.trip = atMicros;
    if (r.counted > counted) {
      if (countedMicros > -Infinity && isStill(r.contactMicros, r)) stillUntil = r.contactMicros;
      countedMicros = r.contactMicros;
    }
    counted = r.counted;
    if (event.kind === "power-on" && r.dark) restartMicros = atMicros;
    const isTrip = event.kind === "alarm-on" && event.alarm === "tripped";
    if (isTrip) isTripped = true;
    else if (event.kind === "reset" && !r.dark) isTripped = false;
    if (awaitsTrip === undefined) return;
    const isLate = atMicros > awaitsTrip.atMicros + toleranceMicros;
    if (isLate) blame(awaitsTrip, "no trip is told of");
    if (isLate || isTrip) awaitsTrip = undefined;
  };

  const whyNot = (event: Shed, r: Reckoning): string | undefined => {
    const { cause, atMicros, strokes } = event;
    switch (cause) {
      case "hold":
        return r.held || isJustPast(stoppedUntil.hold, atMicros) ? undefined : "it is not held";
      case "inhibit":
        return r.inhibits.length > 0 || isJustPast(stoppedUntil.inhibit, atMicros)
          ? undefined
          : "it is not inhibited";
      case "trip":
        if (!r.hadGuard) return "there is no guard to trip";
        if (!isTripped && !isJustPast(stoppedUntil.trip, atMicros) && tells("alarm-on")) awaitsTrip = event;
        return undefined;
      case "power":
        return restartMicros > countedMicros || atMicros <= restartMicros + toleranceMicros
          ? undefined
          : "the power has not just come back";
      case "still":
        return isStill(atMicros, r) || atMicros <= stillUntil + toleranceMicros
          ? undefined
          : `the last contact was only ${atMicros - countedMicros} µs before`;
      case "limit": {
        const left = (r.toldEarned ?? earnedBy(r)) - r.paced - r.shed - strokes;
        return r.isLost || left + (startKnown ? 0 : 1) >= r.settings.owedLimitStrokes
          ? undefined
          : `only ${left + strokes} are owed`;
      }
    }
  };

  return {
    see(event: TraceEvent, r: Reckoning): void {
      note(event, r);
      // Woken late, it gives up what was due to be given up before the water that has come since.
      if (event.kind !== "shed" || isDrivenLate || isUnsettled(r, event.atMicros)) return;
      const why = whyNot(event, r);
      if (why !== undefined) blame(event, why);
    },
    verdict: () => found.verdict(),
  };
}
