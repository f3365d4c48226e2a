/**
 * What the clocks tell of the dark, of sleep, of being held up, and of a wall clock that was set.
 */
import { asyncScheduler } from "rxjs";
import { describe, expect, test, vi } from "vitest";
import {
  BOOT_TICK_MICROS,
  bootTime,
  darkSince,
  journalTime,
  machineClock,
} from "../../harness/drive/clock.js";
import { watchClocks } from "../../harness/drive/watch.js";

const THEN = { id: "a", micros: 5_000_000 };

describe("the dark", () => {
  test.each([
    ["in the same start of the machine", { id: "a", micros: 8_000_000 }, 3_000_000 + BOOT_TICK_MICROS],
    ["at once", THEN, BOOT_TICK_MICROS],
    ["after the machine was started anew", { id: "b", micros: 8_000_000 }, undefined],
    ["by a clock that went back", { id: "a", micros: 4_999_999 }, undefined],
    ["where no clock tells", undefined, undefined],
  ])("%s is never told too short", (_name, now, dark) => {
    expect(darkSince(THEN, now)).toBe(dark);
  });

  test("is unknown where no clock told before", () => {
    expect(darkSince(undefined, THEN)).toBe(undefined);
  });
});

describe("the machine's clock", () => {
  test("paces by the monotonic clock: a wall clock that is set does not move it", () => {
    const clock = machineClock();
    const before = clock.scheduler.now();
    vi.useFakeTimers({ toFake: ["Date"], now: 0 });
    try {
      const passed = clock.scheduler.now() - before;
      expect([passed >= 0 && passed < 60_000, clock.wallMs()]).toEqual([true, 0]);
      expect(asyncScheduler.now()).toBe(0); // What a usual scheduler would have gone by.
    } finally {
      vi.useRealTimers();
    }
  });

  test.skipIf(process.platform !== "linux")(
    "knows on Linux which start of the machine this is, and how long ago",
    () => {
      const boot = machineClock().boot();
      expect(boot?.id).toMatch(/^[0-9a-f-]{36}$/);
      expect(boot?.micros).toBeGreaterThan(0);
    },
  );
});

/** Three clocks that are set by hand, in ms. */
function handClock() {
  const at = { mono: 1_000, boot: 9_000 as number | undefined, wall: 50_000 };
  const go = (millis: number): void => {
    at.mono += millis;
    if (at.boot !== undefined) at.boot += millis;
    at.wall += millis;
  };
  const clock = {
    scheduler: { now: () => at.mono, schedule: asyncScheduler.schedule.bind(asyncScheduler) },
    boot: () => (at.boot === undefined ? undefined : { id: "a", micros: at.boot * 1_000 }),
    wallMs: () => at.wall,
  };
  return { at, go, clock };
}

describe("a look at the clocks", () => {
  test.each<[string, (hand: ReturnType<typeof handClock>) => void, object]>([
    [
      "that go alike finds nothing",
      ({ go }) => {
        go(1_999);
      },
      {},
    ],
    [
      "after two seconds and more was held up",
      ({ go }) => {
        go(2_001);
      },
      { stalledMicros: 2_001_000 },
    ],
    [
      "finds a sleep, and no step of the wall clock in it",
      ({ at }) => {
        at.boot = 14_000;
        at.wall += 5_000;
      },
      { sleptMicros: 5_000_000 },
    ],
    [
      "takes a second apart for the clock's own grain",
      ({ at }) => {
        at.boot = 10_000;
        at.wall += 1_000;
      },
      {},
    ],
    [
      "finds a wall clock set back",
      ({ at }) => {
        at.wall -= 3_600_000;
      },
      { steppedMicros: -3_600_000_000 },
    ],
    [
      "finds a wall clock set on",
      ({ at }) => {
        at.wall += 2_001;
      },
      { steppedMicros: 2_001_000 },
    ],
    [
      "finds no sleep where no clock tells of it",
      ({ at, go }) => {
        at.boot = undefined;
        go(500);
      },
      {},
    ],
  ])("%s", (_name, happen, found) => {
    const hand = handClock();
    const look = watchClocks(hand.clock);
    happen(hand);
    expect(look()).toEqual(found);
    hand.go(10);
    expect(look()).toEqual({});
  });
});

test("a journal's time goes on from that of the start, and over what was slept", () => {
  const { clock, go } = handClock();
  const time = journalTime(clock, 7_000_000);
  go(1_500);
  time.skip(60_000_000);
  expect([time.nowMicros(), time.elapsedMicros()]).toEqual([68_500_000, 1_500_000]);
});

test.each([
  ["the machine's, sleep included", "boot", "120.50 300.00", 100, { id: "boot", micros: 120_500_000 }],
  ["told a little before the other clock", "boot", "99.99 0.00", 100, { id: "boot", micros: 99_990_000 }],
  ["a container's own, which began anew with it", "boot", "7.00 5.00", 100, undefined],
  ["no number", "boot", "soon", 100, undefined],
  ["not there", "boot", undefined, 100, undefined],
  ["of no known start of the machine", undefined, "120.50 300.00", 100, undefined],
])("a boot-time clock that is %s", (_, id, uptime, awakeSeconds, told) => {
  expect(bootTime(id, uptime, awakeSeconds * 1_000_000)).toEqual(told);
});
