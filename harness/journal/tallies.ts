/**
 * What has a feed counted since its journal began? Harness layer.
 */
import { SHED_CAUSES, shedBy, type ShedCause, type State } from "../../lib/pacing/index.js";

/** Counts since the journal began. */
export interface Tallies {
  /** Contacts that earned; with those ignored and rejected they are all that came. */
  readonly counted: number;
  readonly ignored: number;
  readonly rejected: number;
  readonly bounces: number;
  readonly earned: number;
  readonly owed: number;
  readonly remainder: number;
  readonly paced: number;
  readonly primed: number;
  readonly shed: { readonly [cause in ShedCause]: number };
  /** Of `paced` and `primed`, those that may not have been made. */
  readonly uncertain: number;
}

export function talliesOf(s: Readonly<State>, uncertain: number): Tallies {
  const shed = Object.fromEntries(SHED_CAUSES.map((cause) => [cause, shedBy(s, cause)]));
  return {
    counted: s.counted,
    ignored: s.ignored,
    rejected: s.rejected,
    bounces: s.bounces,
    earned: s.earned,
    owed: s.owed,
    remainder: s.remainder,
    paced: s.paced,
    primed: s.primed,
    shed: shed as { [cause in ShedCause]: number },
    uncertain,
  };
}
