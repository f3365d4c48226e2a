/**
 * How does the log come to sides that are made of streams? In virtual time, from a source that reschedules itself.
 *
 * Bench. Virtual time sorts its queue at every scheduling, so a source that scheduled the whole day ahead would cost
 * the streams quadratic time for nothing of their own. Here one action is queued at a time.
 */
import { type Observable, Subject, VirtualTimeScheduler } from "rxjs";
import { type Kind, KINDS, type Log, type Millis, newTally, type Side } from "../log.js";

/** The log as streams, and the clock that they come by. One frame is one millisecond. */
export interface Feed {
  readonly contacts: Observable<void>;
  readonly prime: Observable<boolean>;
  readonly hold: Observable<boolean>;
  readonly scheduler: VirtualTimeScheduler;
  /** Starts the source; subscribe first. */
  connect(): void;
  readonly runTo: (untilMillis: Millis) => void;
}

/** The bare feed with nobody listening: what virtual time itself costs every side that is made of streams. */
export const bareFeedSide: Side = {
  name: "bare feed in virtual time",
  start(log) {
    const feed = feedOf(log);
    feed.connect();
    return { tally: newTally(), runTo: feed.runTo };
  },
};

export function feedOf(log: Log): Feed {
  const scheduler = new VirtualTimeScheduler();
  const contacts = new Subject<void>();
  const prime = new Subject<boolean>();
  const hold = new Subject<boolean>();
  const give: { readonly [kind in Kind]: () => void } = {
    contact: () => {
      contacts.next();
    },
    "prime-on": () => {
      prime.next(true);
    },
    "prime-off": () => {
      prime.next(false);
    },
    "hold-on": () => {
      hold.next(true);
    },
    "hold-off": () => {
      hold.next(false);
    },
  };

  // A new action for each input: one that reschedules itself keeps every action before it.
  const giveAndReschedule = (place = 0): void => {
    give[KINDS[log.kinds[place] as number] as Kind]();
    const next = place + 1;
    if (next < log.length) {
      scheduler.schedule(giveAndReschedule, (log.atMillis[next] as number) - scheduler.frame, next);
    }
  };

  return {
    contacts,
    prime,
    hold,
    scheduler,
    connect() {
      scheduler.schedule(giveAndReschedule, log.atMillis[0], 0);
    },
    runTo(untilMillis) {
      scheduler.maxFrames = untilMillis;
      scheduler.flush();
    },
  };
}
