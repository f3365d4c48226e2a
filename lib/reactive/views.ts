/**
 * What does one want to know of a pacer? Its effects, its strokes, or how it stands. Reactive layer.
 *
 * Views of what `pace` emits; none of them decides anything. Share the pacer to look at it in more than one way.
 */
import { concatMap, distinctUntilChanged, filter, map, type OperatorFunction } from "rxjs";
import {
  type Alarm,
  type Effect,
  INHIBIT_CAUSES,
  type InhibitCause,
  type Micros,
  SHED_CAUSES,
  shedBy,
  type ShedCause,
  standingAlarms,
  type State,
  type Stepped,
} from "../pacing/index.js";

/** Drive the pump through one full stroke, now. */
export type Stroke = Extract<Effect, { readonly kind: "paced" | "primed" }>;

/** Everything that happened, in order. */
export function effects(): OperatorFunction<Stepped, Effect> {
  return concatMap((stepped) => stepped.effects);
}

/** The strokes alone. */
export function strokes(): OperatorFunction<Stepped, Stroke> {
  return (stepped$) =>
    stepped$.pipe(
      map((stepped) => stepped.effects.find(isStroke)),
      filter((stroke) => stroke !== undefined),
    );
}

// A step makes at most one.
function isStroke(effect: Effect): effect is Stroke {
  return effect.kind === "paced" || effect.kind === "primed";
}

const TALLIES = [
  "counted",
  "ignored",
  "rejected",
  "bounces",
  "earned",
  "paced",
  "primed",
  "refused",
] as const;

/** How a pacer stands after a step: tallies since its start, and what is in force. */
export interface PacerStatus extends Readonly<Pick<State, (typeof TALLIES)[number]>> {
  /** The step that brought this about. */
  readonly atMicros: Micros;
  /** Earned strokes still to come. */
  readonly owed: number;
  /** The part of a stroke that is paid for, in d-ths: 0 to d − 1. */
  readonly remainder: number;
  readonly shed: { readonly [cause in ShedCause]: number };
  /** The alarms that stand, and the interlocks that forbid strokes. */
  readonly alarms: readonly Alarm[];
  readonly inhibits: readonly InhibitCause[];
  readonly held: boolean;
  readonly tripped: boolean;
  /** The override is held and obeyed. */
  readonly priming: boolean;
  /** When it next needs to be woken; NO_WAKE for never. */
  readonly wakeAtMicros: Micros;
}

/** How the pacer stands, whenever that has changed. */
export function status(): OperatorFunction<Stepped, PacerStatus> {
  return (stepped$) =>
    stepped$.pipe(
      distinctUntilChanged((a, b) => SHOWN.every((field) => a.state[field] === b.state[field])),
      map(({ state }) => statusOf(state)),
    );
}

// What the status is made of, but its time. The sheds need no mention: one changes only where owed or earned does.
const SHOWN = [
  ...TALLIES,
  "owed",
  "remainder",
  "alarms",
  "inhibits",
  "held",
  "tripped",
  "priming",
  "wakeAtMicros",
] as const satisfies readonly (keyof State)[];

function statusOf(s: Readonly<State>): PacerStatus {
  const shed = Object.fromEntries(SHED_CAUSES.map((cause) => [cause, shedBy(s, cause)]));
  return {
    atMicros: s.nowMicros,
    counted: s.counted,
    ignored: s.ignored,
    rejected: s.rejected,
    bounces: s.bounces,
    earned: s.earned,
    paced: s.paced,
    primed: s.primed,
    owed: s.owed,
    remainder: s.remainder,
    shed: shed as { [cause in ShedCause]: number },
    refused: s.refused,
    alarms: standingAlarms(s),
    inhibits: INHIBIT_CAUSES.filter((_, i) => (s.inhibits & (1 << i)) !== 0),
    held: s.held === 1,
    tripped: s.tripped === 1,
    priming: s.priming === 1,
    wakeAtMicros: s.wakeAtMicros,
  };
}
