/**
 * Does the timer wake on time, whatever the scheduler's clock and timers do?
 */
import { type SchedulerLike, Subscription } from "rxjs";
import { expect, test } from "vitest";
import { NO_WAKE } from "../../lib/pacing/index.js";
import { startWakeTimer } from "../../lib/reactive/wake.js";

/** A scheduler that is moved by hand: it shows its clock, the delays it was asked for, and what is pending. */
function handScheduler() {
  const delays: number[] = [];
  const pending: { work: () => void; subscription: Subscription }[] = [];
  const hand = {
    millis: 1_000_000,
    delays,
    live: () => pending.filter(({ subscription }) => !subscription.closed).length,
    /** Fires what is pending, as a timer does at `millis`. */
    fireAt(millis: number) {
      hand.millis = millis;
      for (const { work, subscription } of pending.splice(0)) if (!subscription.closed) work();
    },
    scheduler: {
      now: () => hand.millis,
      schedule: (work: () => void, delay = 0) => {
        const subscription = new Subscription();
        delays.push(delay);
        pending.push({ work, subscription });
        return subscription;
      },
    } as unknown as SchedulerLike,
  };
  return hand;
}

/** A timer that asks again, as the pacer does, until its time has come. */
function wakeOnceAt(hand: ReturnType<typeof handScheduler>, atMicros: number) {
  const wokenMicros: number[] = [];
  const timer = startWakeTimer(hand.scheduler, 0, () => {
    if (timer.nowMicros() < atMicros) timer.wakeBy(atMicros);
    else wokenMicros.push(timer.nowMicros());
  });
  timer.wakeBy(atMicros);
  return { timer, wokenMicros };
}

test("time is whole microseconds from the given start", () => {
  const hand = handScheduler();
  const timer = startWakeTimer(hand.scheduler, 5_000_000, () => undefined);
  const times = [1_000_000, 1_000_000.25, 1_000_001.0004, 1_000_001.9996].map((millis) => {
    hand.millis = millis;
    return timer.nowMicros();
  });
  expect(times).toEqual([5_000_000, 5_000_250, 5_001_000, 5_002_000]);
});

test("time goes on from where it was when the clock is set back, and passes when it is set forward", () => {
  const hand = handScheduler();
  const timer = startWakeTimer(hand.scheduler, 0, () => undefined);
  const times = [1_000_010, 400_000, 400_005, 400_002, 900_002].map((millis) => {
    hand.millis = millis;
    return timer.nowMicros();
  });
  expect(times).toEqual([10_000, 10_000, 15_000, 15_000, 500_015_000]);
});

test("delays are counted from the absolute time, so that late timers add nothing up", () => {
  const hand = handScheduler();
  let strokes = 0;
  const timer = startWakeTimer(hand.scheduler, 0, () => {
    strokes += 1;
    timer.wakeBy((strokes + 1) * 100_000);
  });
  timer.wakeBy(100_000);
  for (let i = 1; i <= 100; i++) hand.fireAt(1_000_000 + i * 100 + (i % 7)); // 0 to 6 ms late.
  expect([hand.delays[99], hand.delays[100]]).toEqual([99, 98]);
});

test("a timer that drops fractions fires early once, and is set again by a whole millisecond", () => {
  const hand = handScheduler();
  const { wokenMicros } = wakeOnceAt(hand, 10_300);
  hand.fireAt(1_000_010);
  hand.fireAt(1_000_011);
  expect([hand.delays, wokenMicros, hand.live()]).toEqual([[10.3, 1], [11_000], 0]);
});

test("a delay past the longest that timers keep is cut, and asked for again", () => {
  const hand = handScheduler();
  const longest = 2 ** 31 - 1;
  const { wokenMicros } = wakeOnceAt(hand, 3_000_000_000 * 1_000);
  hand.fireAt(1_000_000 + longest);
  hand.fireAt(1_000_000 + 3_000_000_000);
  expect([hand.delays, wokenMicros]).toEqual([[longest, 3_000_000_000 - longest], [3_000_000_000_000]]);
});

test("a time that has passed meanwhile still gets a delay, since some schedulers act at once without one", () => {
  const hand = handScheduler();
  const timer = startWakeTimer(hand.scheduler, 0, () => undefined);
  hand.millis += 5;
  timer.wakeBy(4_000);
  expect(hand.delays).toEqual([0.001]);
});

test("an earlier time replaces a later one, a later one leaves the timer as it is", () => {
  const hand = handScheduler();
  const timer = startWakeTimer(hand.scheduler, 0, () => undefined);
  for (const atMicros of [NO_WAKE, 50_000, 20_000, 90_000, NO_WAKE]) timer.wakeBy(atMicros);
  expect([hand.delays, hand.live()]).toEqual([[50, 20], 1]);
});

test("cancelling leaves nothing pending", () => {
  const hand = handScheduler();
  const timer = startWakeTimer(hand.scheduler, 0, () => undefined);
  timer.wakeBy(50_000);
  timer.cancel();
  expect(hand.live()).toBe(0);
});
