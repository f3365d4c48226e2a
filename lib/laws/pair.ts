/**
 * Do two runs that must not differ differ? Laws 9 and 10. Laws layer.
 *
 * The runs are fed side by side; what one is ahead by is kept, up to a limit, and compared as the other catches up.
 */
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

/** Compares the effects of two runs; those of the variant are `shiftMicros` later. */
export function judgePair(law: "wake-ups" | "time-shift", shiftMicros = 0): PairJudge {
  const found = finding(law, "effects");
  let ahead: { side: "reference" | "variant"; effects: { atMicros: number; text: string }[]; next: number } =
    {
      side: "reference",
      effects: [],
      next: 0,
    };
  let over = false;
  let lost: string | undefined;

  const see = (side: "reference" | "variant", event: TraceEvent): void => {
    if (over || isStimulus(event) || event.kind === "status") return;
    const effect = {
      atMicros: event.atMicros - (side === "variant" ? shiftMicros : 0),
      text: `${event.kind} ${detailOf(event)}`.trim(),
    };
    const waiting = ahead.effects.length - ahead.next;
    if (waiting === 0) ahead = { side, effects: [], next: 0 };
    if (ahead.side === side) {
      ahead.effects.push(effect);
      if (waiting >= AHEAD_MOST) {
        over = true;
        lost = `one run was ahead of the other by ${AHEAD_MOST} effects`;
      }
      return;
    }
    const expected = ahead.effects[ahead.next++];
    if (expected?.atMicros === effect.atMicros && expected.text === effect.text) {
      found.weigh(true, 0, effect.atMicros, () => "");
    } else differ(effect, expected);
  };
  const differ = (
    effect: { atMicros: number; text: string },
    other: { atMicros: number; text: string } | undefined,
  ): void => {
    over = true;
    const atMicros = Math.min(effect.atMicros, other?.atMicros ?? Infinity);
    const instead = other === undefined ? "nothing" : `${other.text} at ${other.atMicros} µs`;
    found.weigh(
      false,
      -1,
      atMicros,
      () => `${effect.text} at ${effect.atMicros} µs in one run, ${instead} in the other`,
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
      const left = ahead.effects[ahead.next];
      if (!over && left !== undefined) differ(left, undefined);
      return found.verdict(lost);
    },
  };
}
