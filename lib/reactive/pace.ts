/**
 * How does the pacing step run as an RxJS operator? It stamps, queues and wakes; the step decides.
 *
 * Reactive layer. Invariants: inputs act one after the other, in the order in which they came, also where a
 * subscriber pushes one from within `next`; a stroke that is due acts before an input of the same microsecond; every
 * step is stamped with the time at which it is made, so that no stroke is dated back.
 */
import {
  asyncScheduler,
  map,
  merge,
  Observable,
  type OperatorFunction,
  type SchedulerLike,
  Subject,
  type Subscriber,
  takeUntil,
  tap,
} from "rxjs";
import {
  type Input,
  type Micros,
  newState,
  type Settings,
  type State,
  step,
  type Stepped,
} from "../pacing/index.js";
import { controlInputs, type Controls, meterInput, type MeterInput, type Untimed } from "./inputs.js";
import { startWakeTimer } from "./wake.js";

/**
 * Most inputs that subscribers may push from within `next` before it returns. One more is taken for a loop in which
 * strokes cause contacts: the pacer stops as if the meter had failed, with a RangeError.
 */
export const REENTRANT_MOST = 4_096;

/**
 * Paces: the meter in, one `Stepped` of the pacing core out for every step that was made.
 *
 * `begin` is the settings of a pacer that has seen nothing yet, or a state to go on from, such as one that was
 * restored from a snapshot. Every subscription is a pacer of its own; times are microseconds since the subscription
 * (or since the state's own time). Inputs act when they arrive, by the scheduler's clock; the controls are
 * subscribed before the meter.
 *
 * - The meter completes: a closure under way still qualifies, what is owed is still fed, or shed as ever, and then
 *   the output completes. It does not wait for alarms, nor for the prime override to be released.
 * - The meter or a control errors: strokes stop at once. What is owed is shed as an inhibit (cause `other`), which
 *   is emitted, and the error is passed on. A meter that says anything but its three words ends the same way, in a
 *   TypeError.
 * - Unsubscribing cancels the wake-up and unsubscribes from every input; what is owed is lost with the pacer.
 *
 * Wake-ups that come late delay strokes, and may shed them to the still-water grace, but never bring two together.
 */
export function pace(
  begin: Settings | Readonly<State>,
  controls: Controls = {},
  scheduler: SchedulerLike = asyncScheduler,
): OperatorFunction<MeterInput, Stepped> {
  return (meter$) =>
    new Observable<Stepped>((subscriber) => {
      const stopped$ = new Subject<void>();
      subscriber.add(() => {
        stopped$.next();
      });
      const run = startRun("nowMicros" in begin ? begin : newState(begin), scheduler, subscriber);
      const inputs$ = merge(
        controlInputs(controls),
        meter$.pipe(map(meterInput), tap({ complete: run.end })),
      );
      // takeUntil reaches a meter that emits while it is being subscribed, which the subscription itself could not.
      inputs$.pipe(takeUntil(stopped$)).subscribe({ next: run.take, error: run.fail });
    });
}

interface Run {
  readonly take: (input: Untimed) => void;
  readonly end: () => void;
  readonly fail: (error: unknown) => void;
}

/** What waits for its turn: told the time when that comes. */
type Task = (nowMicros: Micros) => void;

function startRun(begin: Readonly<State>, scheduler: SchedulerLike, subscriber: Subscriber<Stepped>): Run {
  let state = begin;
  let ended = false;
  let draining = false;
  const tasks: Task[] = [];

  const tell = (input: Input): void => {
    const stepped = step(state, input);
    state = stepped.state;
    subscriber.next(stepped);
  };

  const failing =
    (error: unknown): Task =>
    (nowMicros) => {
      tell({ kind: "inhibit-on", atMicros: nowMicros, cause: "other" });
      subscriber.error(error);
    };

  const drain = (): void => {
    draining = true;
    // Tasks that are pushed meanwhile lengthen the list. Those that are done stay in it, and count to its limit.
    for (let next = 0; next < tasks.length && !subscriber.closed; next++) {
      const nowMicros = timer.nowMicros();
      try {
        if (state.wakeAtMicros <= nowMicros) tell({ kind: "wake", atMicros: nowMicros });
        (tasks[next] as Task)(nowMicros);
        if (ended && isSettled(state)) subscriber.complete();
      } catch (error) {
        // Only settings that were never validated can do that. A pacer that died in silence would be worse.
        failing(error)(nowMicros);
      }
    }
    tasks.length = 0;
    draining = false;
    if (!subscriber.closed) timer.wakeBy(state.wakeAtMicros);
  };

  const push = (task: Task): void => {
    if (tasks.length > REENTRANT_MOST) return;
    tasks.push(tasks.length === REENTRANT_MOST ? failing(loopError()) : task);
    if (!draining) drain();
  };

  const timer = startWakeTimer(scheduler, begin.nowMicros, () => {
    push(() => undefined);
  });
  subscriber.add(timer.cancel);
  timer.wakeBy(state.wakeAtMicros);

  return {
    take: (input) => {
      push((nowMicros) => {
        tell(input(nowMicros));
      });
    },
    end: () => {
      push(() => {
        ended = true;
      });
    },
    fail: (error) => {
      push(failing(error));
    },
  };
}

/** Nothing more can come of what the meter has said: nothing is owed, and no closure is under way to qualify. */
function isSettled(s: Readonly<State>): boolean {
  return s.owed === 0 && !(s.lineClosed === 1 && s.lineArmed === 1);
}

function loopError(): RangeError {
  return new RangeError(
    `More than ${REENTRANT_MOST} inputs came from within one emission of the pacer. ` +
      "Look for a subscriber that turns its strokes into contacts.",
  );
}
