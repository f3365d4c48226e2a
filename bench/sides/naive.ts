/**
 * The same behaviour as plain RxJS: what a competent engineer would write with the operators at hand. Bench.
 *
 * Contacts are dropped while held, strokes are earned exactly by a scan, each waits for its turn in a `concatMap`, a
 * hold throws the queue away by `switchMap`, and the prime override is a `switchMap` to a timer. Care was taken to make it
 * quick: no timer where there is nothing to wait for, one subscription to each input.
 */
import {
  concat,
  concatMap,
  defer,
  distinctUntilChanged,
  EMPTY,
  filter,
  map,
  merge,
  mergeMap,
  NEVER,
  type Observable,
  of,
  range,
  scan,
  share,
  shareReplay,
  startWith,
  switchMap,
  take,
  tap,
  timer,
  withLatestFrom,
} from "rxjs";
import { newTally, type Side, TERMS } from "../log.js";
import { type Feed, feedOf } from "./feed.js";

export const naiveSide: Side = {
  name: "naive RxJS pipeline",
  start(log) {
    const tally = newTally();
    const feed = feedOf(log);
    naivePace(feed).subscribe((cause) => {
      tally[cause] += 1;
      tally.sumMillis += feed.scheduler.frame;
    });
    feed.connect();
    return { tally, runTo: feed.runTo };
  },
};

function naivePace({ contacts, prime, hold, scheduler }: Feed): Observable<"paced" | "primed"> {
  return defer(() => {
    let strokeMillis = -Infinity;
    const atOnceOrLater = (): Observable<unknown> => {
      const waitMillis = strokeMillis + TERMS.spacingMillis - scheduler.now();
      return waitMillis > 0 ? timer(waitMillis, scheduler) : of(0);
    };
    const held = hold.pipe(startWith(false), shareReplay({ bufferSize: 1, refCount: true }));
    const priming = prime.pipe(
      switchMap((on) =>
        on ? concat(of(true), timer(TERMS.longestPrimeMillis, scheduler).pipe(map(() => false))) : of(false),
      ),
      startWith(false),
      distinctUntilChanged(),
      shareReplay({ bufferSize: 1, refCount: true }),
    );
    const earned = contacts.pipe(
      withLatestFrom(held),
      filter(([, isHeld]) => !isHeld),
      scan(
        ({ remainder }) => {
          const paid = remainder + TERMS.strokes;
          return { remainder: paid % TERMS.contacts, strokes: Math.floor(paid / TERMS.contacts) };
        },
        { remainder: 0, strokes: 0 },
      ),
      mergeMap(({ strokes }) => range(strokes)),
      share({ resetOnRefCountZero: false }), // A hold must not forget the remainder.
    );
    const turn = priming.pipe(
      switchMap((isPriming) => (isPriming ? NEVER : atOnceOrLater())),
      take(1),
    );
    const paced = held.pipe(
      switchMap((isHeld) => (isHeld ? EMPTY : earned.pipe(concatMap(() => turn)))),
      map(() => "paced" as const),
    );
    const primed = priming.pipe(
      switchMap((isPriming) =>
        isPriming ? atOnceOrLater().pipe(switchMap(() => timer(0, TERMS.spacingMillis, scheduler))) : EMPTY,
      ),
      map(() => "primed" as const),
    );
    return merge(primed, paced).pipe(
      tap(() => {
        strokeMillis = scheduler.now();
      }),
    );
  });
}
