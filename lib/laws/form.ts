/**
 * Are the answers well formed, and is a bouncing closure one contact? Laws 13 and 14. Laws layer.
 */
import type { Micros } from "../pacing/index.js";
import { isStimulus, type TraceEvent } from "../trace/index.js";
import { finding, type Judge } from "./law.js";
import { isUnsettled, LOST, type Reckoning } from "./reckoning.js";
import type { Standing } from "./standing.js";

type TraceJudge = Judge<TraceEvent, Reckoning>;

/** Law 13, wherever raw edges were given. Its margin: by how much the bounce nearest to counting fell short. */
export function bounce({ tells }: Standing): TraceJudge {
  const found = finding("bounce", "µs");
  const isUntold = !tells("counted");
  // What becomes of contacts is looked for only where it is told of.
  const cameBy = (r: Reckoning): number =>
    r.counted + (tells("ignored") ? r.ignored : 0) + (tells("rejected") ? r.rejected : 0);
  let told = 0;
  let agreedMicros = 0;
  return {
    see(event, r) {
      if (isUntold || r.isLost) return;
      const came = cameBy(r);
      if (event.kind === "counted" || event.kind === "ignored" || event.kind === "rejected") {
        told += event.contacts;
        found.weigh(
          told <= came,
          told <= came ? r.bounceMargin : -Infinity,
          event.atMicros,
          () => `${told} contacts told of ${came} that came`,
        );
      }
      if (told === came) agreedMicros = event.atMicros;
    },
    verdict(r) {
      if (isUntold) return found.verdict("the controller does not tell of its contacts");
      if (r.isLost) return found.verdict(LOST);
      const came = cameBy(r);
      if (told < came) {
        found.weigh(false, -Infinity, agreedMicros, () => `${came - told} contacts were never told of`);
      }
      return found.verdict(r.edges === 0 ? "no raw edges were given" : undefined);
    },
  };
}

/** Law 14: every answer is a whole, possible one, times never go back, and the device never fails. */
export function totality(): TraceJudge {
  const found = finding("totality", "answers");
  let lastMicros: Micros = -Infinity;
  return {
    see(event, r) {
      const fault = faultOf(event, r, lastMicros);
      if (!isStimulus(event)) found.weigh(fault === "", fault === "" ? 0 : -1, event.atMicros, () => fault);
      lastMicros = event.atMicros;
    },
    verdict: () => found.verdict(),
  };
}

function faultOf(event: TraceEvent, r: Reckoning, lastMicros: Micros): string {
  if (event.kind === "fault") return `the device failed: ${event.message}`;
  if (!(event.atMicros >= lastMicros) || event.atMicros % 1 !== 0)
    return `time ${event.atMicros} after ${lastMicros}`;
  const odd = countsOf(event).find((value) => !(value >= 0 && value % 1 === 0));
  if (odd !== undefined) return `an account of ${odd}`;
  if (event.kind !== "status") return "";
  const { remainder } = event;
  return remainder < r.settings.contacts || isUnsettled(r, event.atMicros)
    ? ""
    : `remainder ${remainder} of ${r.settings.contacts}`;
}

/** All numbers, other than its time, that an event tells. */
function countsOf(event: TraceEvent): readonly number[] {
  if (event.kind === "status")
    return [event.earned, event.paced, event.primed, event.owed, event.shed, event.remainder];
  if (event.kind === "counted") return [event.contacts, event.earned];
  if (event.kind === "ignored" || event.kind === "rejected") return [event.contacts];
  return event.kind === "shed" ? [event.strokes] : [];
}
