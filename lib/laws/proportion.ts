/**
 * Is what was earned what the contacts are worth? Law 1. Laws layer.
 *
 * Two ways to see it: by what the controller tells that each contact earned or, where it tells nothing of contacts, by
 * its strokes once the water has stood still.
 */
import type { Micros } from "../pacing/index.js";
import { type EventKind, isStimulus, type TraceEvent } from "../trace/index.js";
import { finding, type Judge, type Verdict } from "./law.js";
import { isUnsettled, LOST, owedBy, type Reckoning } from "./reckoning.js";
import { shedding } from "./shedding.js";
import type { Standing } from "./standing.js";

type TraceJudge = Judge<TraceEvent, Reckoning>;

/** Law 1, in the way that the controller allows. */
export function proportion(standing: Standing): TraceJudge {
  const told = proportionTold(standing);
  const outside = proportionOutside(standing);
  const given = shedding(standing);
  return {
    see(event, r) {
      given.see(event, r);
      if (r.isLost) return;
      told.see(event, r);
      outside.see(event, r);
    },
    verdict(r) {
      const givenUp = given.verdict();
      if (givenUp.answer === "broken") return givenUp;
      if (!standing.tells("counted")) {
        const verdict = told.verdict(r);
        return verdict.answer === "broken" ? verdict : outside.verdict(r);
      }
      const isTold = told.isTold() || r.counted === 0;
      return isTold ? told.verdict(r) : outside.verdict(r);
    },
  };
}

/**
 * contacts · m − strokes · d must stay within a band narrower than d, which is the balanced-words theorem in one number
 * (Morse and Hedlund, 1940), and start where it is known to start.
 */
function proportionTold({ startKnown, toleranceMicros, tells }: Standing) {
  const found = finding("proportion", "strokes");
  let told = 0;
  const uncounted = { ignored: 0, rejected: 0 };
  let m = 0;
  let d = 0;
  let ratioMicros: Micros = -Infinity;
  let isPhaseKnown = startKnown;
  let isAdrift = false;
  let phase = 0;
  let lowest = 0;
  let highest = 0;
  let agreedMicros = 0;

  const startBand = (at: number, isKnown: boolean): void => {
    isAdrift = false;
    isPhaseKnown = isKnown;
    phase = at;
    lowest = isKnown ? 0 : phase;
    highest = isKnown ? d - 1 : phase;
  };

  const seeCounted = (event: Extract<TraceEvent, { kind: "counted" }>, r: Reckoning): void => {
    told += event.contacts;
    if (toleranceMicros > 0 && event.atMicros <= ratioMicros + toleranceMicros) {
      // It may have come under the ratio before; which part of a stroke is paid for is then not known.
      isAdrift = true;
      return;
    }
    if (isAdrift) startBand(0, false);
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
    const error = isPhaseKnown ? phase : width;
    const spare = error < 0 ? error : d - error;
    found.weigh(kept, invented ? r.counted - told : spare / d, event.atMicros, () =>
      invented
        ? `${told} contacts counted of ${r.counted} that came`
        : `${event.earned} strokes for ${event.contacts} contacts at ${m}:${d} leave ${phase}/${d} of a stroke`,
    );
  };

  return {
    isTold: () => told > 0 || found.verdict().checked > 0,
    see(event: TraceEvent, r: Reckoning): void {
      const { strokes, contacts } = r.settings;
      if (m !== strokes || d !== contacts) {
        m = strokes;
        d = contacts;
        ratioMicros = r.turns.changedMicros;
        startBand(r.epochRemainder, startKnown);
      }
      if (event.kind === "counted") seeCounted(event, r);
      else if (event.kind === "ignored" || event.kind === "rejected") {
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
      }
      if (told === r.counted) agreedMicros = event.atMicros;
    },
    verdict(r: Reckoning): Verdict {
      if (r.edges === 0 && told < r.counted && tells("counted") && !r.isLost) {
        found.weigh(
          false,
          told - r.counted,
          agreedMicros,
          () => `${r.counted - told} contacts were never counted`,
        );
      }
      return found.verdict(r.isLost ? LOST : undefined);
    },
  };
}

/**
 * After every still-water grace, all earned must be made or shed. Where sheddings are not told of, that something is
 * missing may be weighed only as long as nothing has happened that makes a correct controller shed; that too many
 * strokes were made, always.
 */
function proportionOutside(standing: Standing): TraceJudge {
  const { startKnown, toleranceMicros } = standing;
  const found = finding("proportion", "strokes");
  // What was paid for before an unknown start can be one stroke more, never one less.
  const slack = startKnown ? 0 : 1;
  let mayHaveShed = standing.isLate && !standing.tells("shed");
  let missingChecked = 0;
  return {
    see(event, r) {
      mayHaveShed ||= !standing.tells("shed") && mayShed(event, r, standing);
      const stillMicros = r.contactMicros + r.settings.graceMicros + toleranceMicros;
      if (!isStimulus(event) || r.counted === 0 || r.dark || event.atMicros <= stillMicros) return;
      if (isUnsettled(r, event.atMicros)) return;
      const left = owedBy(r);
      const spare = left > 0 && !mayHaveShed ? -left : left + slack;
      if (!mayHaveShed) missingChecked += 1;
      found.weigh(spare >= 0, spare, event.atMicros, () => `${left} earned strokes neither made nor shed`);
    },
    verdict(r) {
      if (r.isLost) return found.verdict(LOST);
      if (found.verdict().checked === 0)
        return found.verdict("no contact is told of, and none was followed by a whole grace of still water");
      return found.verdict(
        missingChecked === 0 ? "what was shed is not told of, and something may have been" : undefined,
      );
    },
  };
}

const SHEDDING: readonly EventKind[] = [
  "hold-on",
  "inhibit-on",
  "prime-on",
  "settings",
  "power-off",
  "power-on",
  "alarm-on",
];

/** Whether a correct controller may have given up a stroke by this event, or may do so because of it. */
function mayShed(event: TraceEvent, r: Reckoning, { startKnown, toleranceMicros }: Standing): boolean {
  const { owedLimitStrokes, graceMicros, leastSpacingMicros, guardBudgetStrokes, guardBurstStrokes } =
    r.settings;
  if (SHEDDING.includes(event.kind)) return true;
  // A guard trips at the stroke after those that its burst allows.
  if (guardBudgetStrokes > 0 && r.paced + r.primed >= guardBurstStrokes) return true;
  // Of strokes stamped too early some may still have been owed.
  const early = toleranceMicros > 0 ? Math.floor(toleranceMicros / leastSpacingMicros) + 1 : 0;
  const most = owedBy(r) + early + (startKnown ? 0 : 1);
  return most > Math.min(owedLimitStrokes, Math.floor(graceMicros / leastSpacingMicros));
}
