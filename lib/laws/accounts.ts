/**
 * Do the accounts of the controller add up? Laws 1, 2, 4, 7 and 12. Laws layer.
 */
import type { TraceEvent, Status } from "../trace/index.js";
import { isStimulus } from "../trace/index.js";
import { finding, type Judge } from "./law.js";
import { earnedBy, owedBy, type Reckoning } from "./reckoning.js";

/** How the judge stands to what it judges. */
export interface Standing {
  /** The remainder at the start is known, so that earnings must be exact and not only exact but for a constant. */
  readonly startKnown: boolean;
  /** How far a time stamp of the response may be off, in µs. */
  readonly toleranceMicros: number;
}

type TraceJudge = Judge<TraceEvent, Reckoning>;

/**
 * Law 1. Where the controller tells what each contact earned: contacts · m − strokes · d must stay within a band
 * narrower than d, which is the balanced-words theorem in one number (Morse and Hedlund, 1940), and start where it is
 * known to start. Where it tells nothing of contacts: after every still-water grace, all earned must be made or shed.
 */
export function proportion({ startKnown, toleranceMicros }: Standing): TraceJudge {
  const found = finding("proportion", "strokes");
  const outside = finding("proportion", "strokes");
  let told = 0;
  const uncounted = { ignored: 0, rejected: 0 };
  let m = 0;
  let d = 0;
  let phase = 0;
  let lowest = 0;
  let highest = 0;
  let agreedMicros = 0;

  return {
    see(event, r) {
      const { strokes, contacts } = r.settings;
      if (m !== strokes || d !== contacts) {
        m = strokes;
        d = contacts;
        phase = r.epochRemainder;
        lowest = startKnown ? 0 : phase;
        highest = startKnown ? d - 1 : phase;
      }
      if (event.kind === "counted") {
        told += event.contacts;
        phase += event.contacts * m - event.earned * d;
        lowest = Math.min(lowest, phase);
        highest = Math.max(highest, phase);
        const width = highest - lowest;
        // With raw edges, how many contacts there were is law 13's business, but not what became of them.
        const came = r.counted + r.ignored + r.rejected;
        const misnamed = told + uncounted.ignored + uncounted.rejected <= came;
        const invented = told > r.counted && (r.edges === 0 || misnamed);
        const kept = width < d && !invented;
        // With a known start the band is the whole remainder, and the error is what is paid for but not yet whole.
        const error = startKnown ? phase : width;
        const spare = error < 0 ? error : d - error;
        found.weigh(kept, invented ? r.counted - told : spare / d, event.atMicros, () =>
          invented
            ? `${told} contacts counted of ${r.counted} that came`
            : `${event.earned} strokes for ${event.contacts} contacts at ${m}:${d} leave ${phase}/${d} of a stroke`,
        );
      } else if (event.kind === "ignored" || event.kind === "rejected") {
        const { kind, atMicros, contacts: more } = event;
        uncounted[kind] += more;
        const excess = uncounted[kind] - r[kind];
        if (excess > 0)
          found.weigh(
            false,
            -excess,
            atMicros,
            () => `${uncounted[kind]} contacts told as ${kind}, of which ${excess} were not`,
          );
      } else if (
        isStimulus(event) &&
        r.counted > 0 &&
        !r.dark &&
        event.atMicros > r.contactMicros + r.settings.graceMicros + toleranceMicros
      ) {
        // What was paid for before an unknown start can be one stroke more, never one less.
        const left = owedBy(r);
        const spare = left > 0 ? -left : left + (startKnown ? 0 : 1);
        outside.weigh(
          spare >= 0,
          spare,
          event.atMicros,
          () => `${left} earned strokes neither made nor shed`,
        );
      }
      if (told === r.counted) agreedMicros = event.atMicros;
    },
    verdict(r) {
      if (told === 0 && r.counted > 0 && found.verdict().checked === 0) {
        const unseen = "no contact is told of, and none was followed by a whole grace of still water";
        return outside.verdict(outside.verdict().checked === 0 ? unseen : undefined);
      }
      if (r.edges === 0 && told < r.counted) {
        found.weigh(
          false,
          told - r.counted,
          agreedMicros,
          () => `${r.counted - told} contacts were never counted`,
        );
      }
      return found.verdict();
    },
  };
}

/** Law 2, wherever the controller tells its accounts. */
export function balance(): TraceJudge {
  const found = finding("balance", "strokes");
  return {
    see(event, r) {
      if (event.kind !== "status") return;
      const gap = imbalanceOf(event, r);
      found.weigh(gap === 0, gap === 0 ? 0 : -gap, event.atMicros, () => describe(event, r));
    },
    verdict: () =>
      found.verdict(found.verdict().checked === 0 ? "the controller does not tell its accounts" : undefined),
  };
}

/** The largest disagreement within told accounts, and between them and what was seen, in strokes. */
export function imbalanceOf(status: Status, r: Reckoning): number {
  return Math.max(
    Math.abs(status.earned - status.paced - status.owed - status.shed),
    Math.abs(status.earned - (r.toldEarned ?? status.earned)),
    Math.abs(status.paced - r.paced),
    Math.abs(status.primed - r.primed),
    Math.abs(status.shed - r.shed),
  );
}

function describe(status: Status, r: Reckoning): string {
  const earned = r.toldEarned === undefined ? "" : `earned ${r.toldEarned}, `;
  return (
    `told: earned ${status.earned}, paced ${status.paced}, primed ${status.primed}, owed ${status.owed}, shed ${status.shed}; ` +
    `seen: ${earned}paced ${r.paced}, primed ${r.primed}, shed ${r.shed}`
  );
}

/** Law 4: with an unknown start, the first stroke may have been nearly paid for before. */
export function causality({ startKnown }: Standing): TraceJudge {
  const found = finding("causality", "strokes");
  return {
    see(event, r) {
      if (event.kind !== "paced") return;
      const left = owedBy(r) - 1 + (startKnown ? 0 : 1);
      found.weigh(
        left >= 0,
        left,
        event.atMicros,
        () => `paced stroke ${r.paced + 1}, but only ${earnedBy(r) - r.shed} are paid for`,
      );
    },
    verdict: () => found.verdict(),
  };
}

/** Law 7, by what the controller tells of its accounts; where it tells nothing, by the reckoning at each stroke. */
export function debt(): TraceJudge {
  const found = finding("debt", "strokes");
  let tells = false;
  return {
    see(event, r) {
      tells ||= event.kind === "status";
      if (event.kind !== "status" && (tells || event.kind !== "paced")) return;
      const owed = event.kind === "status" ? event.owed : owedBy(r);
      const limit = r.settings.owedLimitStrokes;
      found.weigh(owed <= limit, limit - owed, event.atMicros, () => `${owed} owed, limit ${limit}`);
    },
    verdict: () => found.verdict(),
  };
}

/** Law 12: what the accounts said last before the power went, against what they say first after it is back. */
export function powerCycle(): TraceJudge {
  const found = finding("power-cycle", "strokes");
  let last: Status | undefined;
  let before: Status | undefined;
  return {
    see(event, r) {
      if (event.kind === "power-on" && r.dark) before = last;
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
