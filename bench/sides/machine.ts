/**
 * The same behaviour as a statechart, on a general-purpose state-machine library and a virtual clock. Bench.
 *
 * Three regions: the hold, the prime override with its longest time, and the pump, which rests for the spacing
 * after every stroke. The library's own simulated clock jumps past timers that a timer sets, so this one goes from
 * timer to timer; it holds two or three at a time, and finds the next by looking at all.
 */
import { assign, createActor, setup, stateIn } from "xstate";
import { type Kind, KINDS, type Millis, newTally, type Side, type Tally, TERMS } from "../log.js";

export const machineSide: Side = {
  name: "state-machine library (xstate)",
  start(log) {
    const tally = newTally();
    const clock = new VirtualClock();
    const actor = createActor(pacingMachine(tally, clock), { clock }).start();
    const events = KINDS.map((kind) => ({ type: kind }));
    let next = 0;
    return {
      tally,
      runTo(untilMillis) {
        for (; next < log.length && (log.atMillis[next] as number) <= untilMillis; next++) {
          clock.goTo(log.atMillis[next] as number);
          actor.send(events[log.kinds[next] as number] as { type: Kind });
        }
        clock.goTo(untilMillis);
      },
    };
  },
};

function pacingMachine(tally: Tally, clock: VirtualClock) {
  return setup({
    types: { context: {} as { remainder: number; owed: number }, events: {} as { type: Kind } },
    delays: { spacing: TERMS.spacingMillis, longestPrime: TERMS.longestPrimeMillis },
    guards: {
      priming: stateIn({ prime: "on" }),
      owing: ({ context }) => context.owed > 0,
    },
    actions: {
      earn: assign(({ context }) => {
        const paid = context.remainder + TERMS.strokes;
        return {
          remainder: paid % TERMS.contacts,
          owed: context.owed + Math.floor(paid / TERMS.contacts),
        };
      }),
      shed: assign({ owed: 0 }),
      pay: assign({ owed: ({ context }) => context.owed - 1 }),
      count: (_, { cause }: { cause: "paced" | "primed" }) => {
        tally[cause] += 1;
        tally.sumMillis += clock.nowMillis;
      },
    },
  }).createMachine({
    type: "parallel",
    context: { remainder: 0, owed: 0 },
    states: {
      meter: {
        initial: "running",
        states: {
          running: {
            on: { contact: { actions: "earn" }, "hold-on": { target: "held", actions: "shed" } },
          },
          held: { on: { "hold-off": "running" } },
        },
      },
      prime: {
        initial: "off",
        states: {
          off: { on: { "prime-on": "on" } },
          on: { on: { "prime-off": "off" }, after: { longestPrime: "expired" } },
          expired: { on: { "prime-off": "off" } },
        },
      },
      pump: {
        initial: "ready",
        states: {
          ready: {
            always: [
              {
                guard: "priming",
                target: "resting",
                actions: { type: "count", params: { cause: "primed" } },
              },
              {
                guard: "owing",
                target: "resting",
                actions: ["pay", { type: "count", params: { cause: "paced" } }],
              },
            ],
          },
          resting: { after: { spacing: "ready" } },
        },
      },
    },
  });
}

interface Timer {
  readonly id: number;
  readonly dueMillis: Millis;
  readonly fire: () => void;
}

class VirtualClock {
  nowMillis: Millis = 0;
  private lastId = 0;
  private readonly timers: Timer[] = [];

  setTimeout(fire: () => void, delayMillis: Millis): number {
    this.lastId += 1;
    this.timers.push({ id: this.lastId, dueMillis: this.nowMillis + delayMillis, fire });
    return this.lastId;
  }

  clearTimeout(id: number): void {
    const place = this.timers.findIndex((timer) => timer.id === id);
    if (place >= 0) this.timers.splice(place, 1);
  }

  goTo(untilMillis: Millis): void {
    for (let due = this.nextDue(untilMillis); due !== undefined; due = this.nextDue(untilMillis)) {
      this.clearTimeout(due.id);
      this.nowMillis = due.dueMillis;
      due.fire();
    }
    this.nowMillis = untilMillis;
  }

  private nextDue(untilMillis: Millis): Timer | undefined {
    let next: Timer | undefined;
    for (const timer of this.timers) {
      if (timer.dueMillis <= untilMillis && (next === undefined || timer.dueMillis < next.dueMillis))
        next = timer;
    }
    return next;
  }
}
