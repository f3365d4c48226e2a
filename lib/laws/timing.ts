/**
 * Do strokes come when they may? Laws 3, 5, 6, 8, 11 and 15. Laws layer.
 */
import type { Micros, Settings } from "../pacing/index.js";
import type { Status, TraceEvent } from "../trace/index.js";
import { imbalanceOf } from "./accounts.js";
import { finding, type Judge } from "./law.js";
import { isStopped, isUnsettled, type Reckoning } from "./reckoning.js";
import type { Standing } from "./standing.js";

type TraceJudge = Judge<TraceEvent, Reckoning>;

export function isStroke(event: TraceEvent): boolean {
  return event.kind === "paced" || event.kind === "primed";
}

/** Law 3: a restart counts as a stroke, since the last one before it is not known. */
export function cap({ toleranceMicros }: Standing): TraceJudge {
  const found = finding("cap", "µs");
  return {
    see(event, r) {
      if (!isStroke(event) || isUnsettled(r, event.atMicros)) return;
      const spare = spareOf(event, r, toleranceMicros);
      if (spare === Infinity) return;
      found.weigh(spare >= 0, spare, event.atMicros, () => tooClose(event, r));
    },
    verdict: () => found.verdict(),
  };
}

/** By how much a stroke keeps the least spacing from the last one; ∞ for the first. */
function spareOf({ atMicros }: TraceEvent, r: Reckoning, toleranceMicros: Micros): Micros {
  return atMicros - r.strokeMicros - r.settings.leastSpacingMicros + toleranceMicros;
}

function tooClose({ atMicros }: TraceEvent, r: Reckoning): string {
  return `a stroke ${atMicros - r.strokeMicros} µs after the last; the least spacing is ${r.settings.leastSpacingMicros} µs`;
}

/** Law 5: primed strokes within the hold, and the accounts alike before and after one, a press and a release. */
export function prime({ toleranceMicros, tells }: Standing): TraceJudge {
  const found = finding("prime", "µs");
  let last: Status | undefined;
  let before: Status | undefined;
  return {
    see(event, r) {
      if (event.kind === "primed") {
        before = last;
        if (isUnsettled(r, event.atMicros)) return;
        const since = r.primeSinceMicros;
        const isForgiving = since === -Infinity && toleranceMicros > 0;
        const end = isForgiving ? r.turns.primeEndMicros : since + r.settings.longestPrimeMicros;
        const spare = end + toleranceMicros - event.atMicros;
        found.weigh(spare >= 0, spare, event.atMicros, () =>
          since === -Infinity
            ? "a primed stroke, but prime is not held"
            : `a primed stroke ${event.atMicros - since} µs into the hold`,
        );
      } else if (event.kind === "prime-on" || event.kind === "prime-off") {
        before = last;
      } else if (event.kind === "counted" || event.kind === "paced" || event.kind === "settings") {
        last = undefined;
        before = undefined;
      } else if (event.kind === "status") {
        // What a contact has earned meanwhile must be told of, or it would be laid to the stroke.
        if (before !== undefined && tells("counted")) weighAccounts(before, event);
        // It may be told of a remainder from before the change.
        last = isUnsettled(r, event.atMicros) ? undefined : event;
        before = undefined;
      }
    },
    verdict: () => found.verdict(),
  };

  function weighAccounts(earlier: Status, after: Status): void {
    const kept =
      after.owed + after.shed === earlier.owed + earlier.shed && after.remainder === earlier.remainder;
    found.weigh(
      kept,
      kept ? Infinity : -Infinity,
      after.atMicros,
      () =>
        `priming took owed from ${earlier.owed} to ${after.owed}, the remainder from ${earlier.remainder} to ${after.remainder}`,
    );
  }
}

/** Law 6. With a tolerance, a stroke is forgiven where the stop began that shortly before it. */
export function silence({ toleranceMicros }: Standing): TraceJudge {
  const found = finding("silence", "strokes");
  return {
    see(event, r) {
      if (!isStroke(event)) return;
      const isForgiven =
        toleranceMicros > 0 && event.atMicros <= r.turns.stoppedSinceMicros + toleranceMicros;
      const kept = !isStopped(r) || isForgiven;
      found.weigh(kept, kept ? 0 : -1, event.atMicros, () => `a ${event.kind} stroke while ${stopsOf(r)}`);
    },
    verdict: () => found.verdict(),
  };
}

function stopsOf(r: Reckoning): string {
  const stops = r.inhibits.map((cause) => `inhibited (${cause})`);
  if (r.held) stops.push("held");
  if (r.tripped) stops.push("tripped");
  if (r.dark) stops.push("without power");
  return stops.join(" and ");
}

/** Law 8. */
export function stillWater({ toleranceMicros }: Standing): TraceJudge {
  const found = finding("still-water", "µs");
  return {
    see(event, r) {
      if (event.kind !== "paced" || isUnsettled(r, event.atMicros)) return;
      const stillFor = event.atMicros - r.contactMicros;
      const spare = r.settings.graceMicros - stillFor + toleranceMicros;
      found.weigh(spare >= 0, spare, event.atMicros, () =>
        stillFor === Infinity
          ? "a paced stroke and no contact before it"
          : `a paced stroke ${stillFor} µs after the last contact`,
      );
    },
    verdict: () => found.verdict(),
  };
}

/** Law 11, for a run whose wake-ups came late: laws 2 and 3 in one. */
export function lateness({ toleranceMicros, isLate }: Standing): TraceJudge {
  const found = finding("lateness", "µs");
  return {
    see(event, r) {
      if (!isLate) return;
      if (event.kind === "status") {
        const gap = imbalanceOf(event, r);
        found.weigh(
          gap === 0,
          gap === 0 ? Infinity : -Infinity,
          event.atMicros,
          () => `${gap} strokes unaccounted for`,
        );
      } else if (isStroke(event) && !isUnsettled(r, event.atMicros)) {
        const spare = spareOf(event, r, toleranceMicros);
        found.weigh(spare >= 0, spare, event.atMicros, () => tooClose(event, r));
      }
    },
    verdict: () => found.verdict(isLate ? undefined : "no wake-up came late"),
  };
}

/**
 * Law 15, in the leaky-bucket form of ITU-T I.371 (the core uses the other one): the bucket drains one budget a period
 * and a stroke pours in one period's worth; it holds `burst` of them. A window in which more strokes come than
 * burst + budget · window / period is exactly one in which it overflows.
 */
export function guard({ toleranceMicros }: Standing): TraceJudge {
  const found = finding("guard", "strokes");
  let level = 0;
  let pouredMicros = 0;
  let terms: Settings | undefined;
  return {
    see(event, r) {
      const { guardBudgetStrokes: budget, guardPeriodMicros: period, guardBurstStrokes: burst } = r.settings;
      if (terms !== r.settings) {
        if (terms === undefined || !isSameGuard(terms, r.settings)) level = 0;
        terms = r.settings;
      }
      if (!isStroke(event) || budget === 0 || isUnsettled(r, event.atMicros)) return;
      level = Math.max(level - (event.atMicros - pouredMicros) * budget, 0) + period;
      pouredMicros = event.atMicros;
      const spare = burst * period - level + toleranceMicros * budget;
      found.weigh(
        spare >= 0,
        spare / period,
        event.atMicros,
        () => `a stroke more than ${burst} and ${budget} in ${period} µs allow`,
      );
    },
    verdict: () => found.verdict(),
  };
}

function isSameGuard(a: Settings, b: Settings): boolean {
  return (
    a.guardBudgetStrokes === b.guardBudgetStrokes &&
    a.guardPeriodMicros === b.guardPeriodMicros &&
    a.guardBurstStrokes === b.guardBurstStrokes
  );
}
