/**
 * Do the accounts of the controller add up? Laws 2, 4, 7 and 12; law 1 has a file of its own. Laws layer.
 */
import { isStimulus, type Status, type TraceEvent } from "../trace/index.js";
import { finding, type Judge } from "./law.js";
import { earnedBy, isUnsettled, LOST, owedBy, type Reckoning } from "./reckoning.js";
import type { Standing } from "./standing.js";

type TraceJudge = Judge<TraceEvent, Reckoning>;

/** Law 2, wherever the controller tells its accounts. */
export function balance(): TraceJudge {
  const found = finding("balance", "strokes");
  let isAsked = false;
  let isStale = false;
  return {
    see(event, r) {
      isAsked ||= isStimulus(event);
      isStale = isStaleAfter(event, isStale);
      if (event.kind !== "status") return;
      const gap = imbalanceOf(event, r);
      found.weigh(gap === 0, gap === 0 ? 0 : -gap, event.atMicros, () => describe(event, r));
    },
    verdict() {
      if (found.verdict().checked > 0) return found.verdict(isStale ? STALE : undefined);
      return found.verdict(isAsked ? "the controller does not tell its accounts" : "nothing happened");
    },
  };
}

const STALE = "the controller stopped telling its accounts while they changed";

/** Whether accounts told before are of no more use: something has changed them since. */
function isStaleAfter({ kind }: TraceEvent, wasStale: boolean): boolean {
  if (kind === "status") return false;
  return wasStale || kind === "counted" || kind === "shed" || kind === "paced" || kind === "primed";
}

/** The largest disagreement within told accounts, and between them and what was seen, in strokes. */
export function imbalanceOf(status: Status, r: Reckoning): number {
  const { tells } = r.standing;
  return Math.max(
    Math.abs(status.earned - status.paced - status.owed - status.shed),
    Math.abs(status.earned - (r.toldEarned ?? status.earned)),
    Math.abs(status.paced - r.paced),
    Math.abs(status.primed - r.primed),
    tells("shed") ? Math.abs(status.shed - r.shed) : 0,
  );
}

function describe(status: Status, r: Reckoning): string {
  const earned = r.toldEarned === undefined ? "" : `earned ${r.toldEarned}, `;
  return (
    `told: earned ${status.earned}, paced ${status.paced}, primed ${status.primed}, owed ${status.owed}, shed ${status.shed}; ` +
    `seen: ${earned}paced ${r.paced}, primed ${r.primed}, shed ${r.shed}`
  );
}

/**
 * Law 4: with an unknown start, the first stroke may have been nearly paid for before. A tolerance forgives nothing
 * here: a stroke that is stamped before its contact is one too many until then.
 */
export function causality({ startKnown }: Standing): TraceJudge {
  const found = finding("causality", "strokes");
  return {
    see(event, r) {
      if (event.kind !== "paced" || r.isLost) return;
      const left = owedBy(r) - 1 + (startKnown ? 0 : 1);
      found.weigh(
        left >= 0,
        left,
        event.atMicros,
        () => `paced stroke ${r.paced + 1}, but only ${earnedBy(r) - r.shed} are paid for`,
      );
    },
    verdict: (r) => found.verdict(r.isLost ? LOST : undefined),
  };
}

/** Law 7, by what the controller tells of its accounts; where it tells nothing, by the reckoning at each stroke. */
export function debt({ tells, toleranceMicros }: Standing): TraceJudge {
  const found = finding("debt", "strokes");
  let tellsOwed = false;
  let isStale = false;
  const isReckoned = tells("shed");
  return {
    see(event, r) {
      tellsOwed ||= event.kind === "status";
      isStale = isStaleAfter(event, isStale);
      if (event.kind !== "status" && (tellsOwed || event.kind !== "paced" || !isReckoned)) return;
      if (isUnsettled(r, event.atMicros)) return;
      // What a contact earned beyond the limit may be shed and not be told of yet.
      const isFresh = toleranceMicros > 0 && event.atMicros <= r.contactMicros + toleranceMicros;
      if (event.kind === "paced" && (isFresh || r.isLost)) return;
      const owed = event.kind === "status" ? event.owed : owedBy(r);
      const limit = r.settings.owedLimitStrokes;
      found.weigh(owed <= limit, limit - owed, event.atMicros, () => `${owed} owed, limit ${limit}`);
    },
    verdict() {
      if (tellsOwed && isStale) return found.verdict(STALE);
      return found.verdict(tellsOwed || isReckoned ? undefined : "the controller does not tell what it owes");
    },
  };
}

/** Law 12: what the accounts said last before the power went, against what they say first after it is back. */
export function powerCycle({ toleranceMicros }: Standing): TraceJudge {
  const found = finding("power-cycle", "strokes");
  let last: Status | undefined;
  let before: Status | undefined;
  return {
    see(event, r) {
      // After so short a cut, accounts told next may still be from before it: no telling, so nothing is compared.
      const isBrief = toleranceMicros > 0 && event.atMicros <= r.turns.changedMicros + toleranceMicros;
      if (event.kind === "power-on" && r.dark) before = isBrief ? undefined : last;
      if (event.kind !== "status") return;
      last = event;
      if (before === undefined) return;
      const gap = Math.max(
        Math.abs(event.earned - before.earned),
        Math.abs(event.paced - before.paced),
        Math.abs(event.primed - before.primed),
        Math.abs(event.owed + event.shed - before.owed - before.shed),
        event.remainder === before.remainder ? 0 : 1,
      );
      const { remainder, owed } = before;
      found.weigh(
        gap === 0,
        gap === 0 ? 0 : -gap,
        event.atMicros,
        () =>
          `before: owed ${owed}, remainder ${remainder}; after: owed ${event.owed}, remainder ${event.remainder}, shed ${event.shed}`,
      );
      before = undefined;
    },
    verdict: () =>
      found.verdict(
        found.verdict().checked === 0 ? "no power cut had accounts told before and after it" : undefined,
      ),
  };
}
