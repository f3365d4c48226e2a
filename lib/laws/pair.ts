/**
 * Do two runs that must not differ differ? Laws 9 and 10. Laws layer.
 *
 * The runs are fed side by side; what one is ahead by is kept, up to a limit, and compared as the other catches up.
 */
import type { Micros } from "../pacing/index.js";
import { detailOf, isStimulus, type TraceEvent } from "../trace/index.js";
import { finding, type Verdict } from "./law.js";

/** Most effects that one run may be ahead of the other: more than can be owed. Beyond it, it cannot be told. */
const AHEAD_MOST = 2_000_000;

export interface PairJudge {
  /** An event of the run that is taken as it is. */
  readonly seeReference: (event: TraceEvent) => void;
  /** An event of the run with extra wake-ups, or moved in time. */
  readonly seeVariant: (event: TraceEvent) => void;
  readonly verdict: () => Verdict;
}

interface Effect {
  readonly atMicros: Micros;
  readonly text: string;
}

/** Compares the effects of two runs; those of the variant are `shiftMicros` later. */
export function judgePair(
  law: "wake-ups" | "time-shift",
  shiftMicros: Micros = 0,
  aheadMost: number = AHEAD_MOST,
): PairJudge {
  const found = finding(law, "effects");
  let aheadSide: "reference" | "variant" | undefined;
  let ahead: Effect[] = [];
  let next = 0;
  let over = false;
  let lost: string | undefined;

  const see = (side: "reference" | "variant", event: TraceEvent): void => {
    if (over || isStimulus(event) || event.kind === "status") return;
    const effect = {
      atMicros: event.atMicros - (side === "variant" ? shiftMicros : 0),
      text: `${event.kind} ${detailOf(event)}`.trim(),
    };
    const waiting = ahead.length - next;
    if (waiting === 0) {
      aheadSide = side;
      ahead = [];
      next = 0;
    }
    if (aheadSide === side) {
      ahead.push(effect);
      if (waiting >= aheadMost) {
        over = true;
        lost = `one run was ahead of the other by more than ${aheadMost} effects`;
      }
      return;
    }
    const expected = ahead[next++] as Effect;
    const alike = expected.atMicros === effect.atMicros && expected.text === effect.text;
    over = !alike;
    found.weigh(
      alike,
      alike ? 0 : -1,
      Math.min(effect.atMicros, expected.atMicros),
      () => `${told(effect)} in one run, ${told(expected)} in the other`,
    );
  };

  return {
    seeReference: (event) => {
      see("reference", event);
    },
    seeVariant: (event) => {
      see("variant", event);
    },
    verdict() {
      const left = ahead[next];
      if (!over && left !== undefined) {
        over = true;
        found.weigh(false, -1, left.atMicros, () => `${told(left)} in one run, nothing in the other`);
      }
      return found.verdict(lost);
    },
  };
}

function told({ text, atMicros }: Effect): string {
  return `${text} at ${atMicros} µs`;
}
