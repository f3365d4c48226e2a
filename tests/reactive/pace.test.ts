/**
 * Does the operator pace, as the core would, with every input, re-entrant or not? In virtual time.
 */
import { concat, map, NEVER, of, share, Subject, tap, VirtualTimeScheduler } from "rxjs";
import { TestScheduler } from "rxjs/testing";
import { expect, test } from "vitest";
import { newState, restoreSnapshot, stepInPlace, takeSnapshot } from "../../lib/pacing/index.js";
import { effects, type MeterInput, pace, REENTRANT_MOST, strokes } from "../../lib/reactive/index.js";
import { bench, collect, effectsOf, onSubscribe, prompt, strokesOf, tellStroke } from "./rig.js";

const threeForOne = prompt({ strokes: 3 });

test("contacts become strokes, as soon as the cap allows, in marbles", () => {
  const time = new TestScheduler((actual, expected) => {
    expect(actual).toEqual(expected);
  });
  time.run(({ hot, expectObservable, expectSubscriptions }) => {
    const meter$ = hot<MeterInput>("-c 5s c|", { c: "contact" });
    const output$ = meter$.pipe(pace(prompt({ strokes: 2 }), {}, time), strokes(), map(tellStroke));
    expectObservable(output$).toBe("-a 999ms b 4000ms c 999ms (d|)", {
      a: "0.001 paced",
      b: "1.001 paced",
      c: "5.002 paced",
      d: "6.002 paced",
    });
    expectSubscriptions(meter$.subscriptions).toBe("^ 5002ms !");
  });
});

test("edges qualify in the core, so that bounce is one contact", () => {
  const { scheduler, meter$, at, pace } = bench();
  const output = collect(meter$.pipe(pace(prompt({ closedMicros: 10_000, openMicros: 10_000 }))));
  const edges = [
    [100, "close"],
    [102, "open"],
    [103, "close"],
    [105, "open"],
    [106, "close"], // Good, 10 ms from here.
    [400, "open"],
    [401, "close"],
    [403, "open"],
  ] as const;
  edges.forEach(([millis, edge]) => {
    at(millis, () => {
      meter$.next(edge);
    });
  });
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0.116 paced"]);
});

test("a stroke that is due acts before an input of the same microsecond", () => {
  const { scheduler, meter$, controls, at, pace } = bench();
  at(1_000, () => {
    controls.hold$.next(true); // Scheduled before the wake-up, so it comes first within the instant.
  });
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  scheduler.flush();
  expect(effectsOf(output.values)).toEqual([
    { kind: "counted", atMicros: 0, contacts: 1, earned: 3 },
    { kind: "paced", atMicros: 0 },
    { kind: "paced", atMicros: 1_000_000 },
    { kind: "shed", atMicros: 1_000_000, cause: "hold", strokes: 1 },
    { kind: "alarm-on", atMicros: 1_000_000, alarm: "shed-in-hold" },
  ]);
});

test("a stroke that is made late is stamped late, and the next keeps its distance from it", () => {
  const { scheduler, meter$, at, pace } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  at(900, () => {
    scheduler.frame = 1_700; // The host was busy for 800 ms.
  });
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0 paced", "1 paced", "2 paced"]);
});

test.each([
  { control: "hold", wanted: ["0 paced"] },
  { control: "inhibit", wanted: ["0 paced"] },
  { control: "prime", wanted: ["0 paced", "1 primed", "2 primed", "3 paced", "4 paced"] },
] as const)("the $control stream reaches the pacer", ({ control, wanted }) => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const say = (on: boolean) => {
    if (control === "hold") controls.hold$.next(on);
    else if (control === "prime") controls.prime$.next(on);
    else controls.inhibit$.next({ cause: "tank", on });
  };
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  at(500, () => {
    say(true);
  });
  at(2_500, () => {
    say(false);
  });
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(wanted);
});

test("new settings are in force from the next contact on, and a reset ends a trip", () => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const guarded = prompt({ guardBudgetStrokes: 2, guardPeriodMicros: 3_600_000_000 });
  const output = collect(meter$.pipe(pace(guarded)));
  [0, 2_000, 4_000, 8_000].forEach((millis) => {
    at(millis, () => {
      meter$.next("contact");
    });
  });
  at(5_000, () => {
    controls.reset$.next("acknowledged");
  });
  at(6_000, () => {
    controls.settings$.next({ settings: prompt({ strokes: 2 }), confirmed: false });
  });
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0 paced", "2 paced", "8 paced", "9 paced"]);
  expect(effectsOf(output.values).filter(({ kind }) => kind.startsWith("alarm"))).toEqual([
    { kind: "alarm-on", atMicros: 4_000_000, alarm: "tripped" },
    { kind: "alarm-off", atMicros: 5_000_000, alarm: "tripped" },
  ]);
});

test("the controls are subscribed before the meter", () => {
  const log: string[] = [];
  const held$ = concat(of(true), NEVER).pipe(onSubscribe(log, "hold"));
  const meter$ = of("contact" as const).pipe(onSubscribe(log, "meter"));
  const output = collect(meter$.pipe(pace(prompt(), { hold$: held$ }, new VirtualTimeScheduler())));
  expect([log, effectsOf(output.values)]).toEqual([
    ["hold", "meter"],
    [{ kind: "ignored", atMicros: 0, contacts: 1 }],
  ]);
});

test("inputs that a subscriber pushes back act after the step that it was told of, in the order it pushed them", () => {
  const { scheduler, meter$, controls, pace } = bench();
  const pacer$ = meter$.pipe(pace(prompt({ strokes: 1, owedLimitStrokes: 9 })), effects(), share());
  let pushed = false;
  pacer$.subscribe(({ kind }) => {
    if (kind !== "paced" || pushed) return;
    pushed = true;
    meter$.next("contact");
    meter$.next("contact");
    controls.hold$.next(true);
  });
  const second = collect(pacer$.pipe(map((effect) => effect.kind)));
  meter$.next("contact");
  scheduler.flush();
  expect(second.values).toEqual(["counted", "paced", "counted", "counted", "shed", "alarm-on"]);
});

test("a loop of strokes and contacts is cut at the limit: what is owed is shed and the output errors", () => {
  const { meter$, pace, isLive } = bench();
  const output = collect(
    meter$.pipe(
      pace(prompt()),
      tap(() => {
        meter$.next("contact");
      }),
    ),
  );
  meter$.next("contact");
  expect(output.ending).toEqual({ error: expect.any(RangeError) as unknown });
  const counted = effectsOf(output.values).filter(({ kind }) => kind === "counted").length;
  expect([counted, output.values.at(-1)?.state.owed, isLive()]).toEqual([REENTRANT_MOST, 0, false]);
});

test("a burst from within one emission that stays below the limit is taken whole", () => {
  const { meter$, pace } = bench();
  let pushed = false;
  const output = collect(
    meter$.pipe(
      pace(prompt()),
      tap(() => {
        if (pushed) return;
        pushed = true;
        for (let i = 1; i < REENTRANT_MOST; i++) meter$.next("contact");
      }),
    ),
  );
  meter$.next("contact");
  expect([output.values.at(-1)?.state.counted, output.ending]).toEqual([REENTRANT_MOST, undefined]);
});

test("several pumps on one meter each pace their own ratio, and one that leaves does not disturb the other", () => {
  const { scheduler, at } = bench();
  const source$ = new Subject<MeterInput>();
  const meter$ = source$.pipe(share());
  const one = collect(meter$.pipe(pace(prompt({ strokes: 1, contacts: 2 }), {}, scheduler)));
  const two = collect(meter$.pipe(pace(prompt({ strokes: 2, contacts: 1 }), {}, scheduler)));
  [0, 5_000, 10_000, 15_000].forEach((millis) => {
    at(millis, () => {
      source$.next("contact");
    });
  });
  at(10_500, () => {
    two.subscription.unsubscribe();
  });
  scheduler.flush();
  expect([strokesOf(one.values), strokesOf(two.values)]).toEqual([
    ["5 paced", "15 paced"],
    ["0 paced", "1 paced", "5 paced", "6 paced", "10 paced"],
  ]);
});

test("each subscription is a pacer of its own, with times from its own start", () => {
  const { scheduler, meter$, at, pace } = bench();
  const output$ = meter$.pipe(pace(prompt({ contacts: 2 })));
  const early = collect(output$);
  let late: typeof early | undefined;
  at(3_000, () => {
    late = collect(output$);
  });
  [1_000, 4_000, 7_000].forEach((millis) => {
    at(millis, () => {
      meter$.next("contact");
    });
  });
  scheduler.flush();
  expect([strokesOf(early.values), strokesOf(late?.values ?? [])]).toEqual([["4 paced"], ["4 paced"]]);
});

test("it goes on from a state that was restored from a snapshot, remainder and all", () => {
  const { scheduler, meter$ } = bench();
  const settings = prompt({ strokes: 1, contacts: 2 });
  const before = newState(settings);
  stepInPlace(before, { kind: "contact", atMicros: 2_000_000 });
  const restored = restoreSnapshot(settings, takeSnapshot(before), 10_000_000, 1_000_000);
  if (!restored.ok) throw new Error(restored.refusal);
  const output = collect(meter$.pipe(pace(restored.state, {}, scheduler)));
  meter$.next("contact");
  scheduler.flush();
  // The least spacing counts from the restart, at 10 s.
  expect([strokesOf(output.values), scheduler.now()]).toEqual([["11 paced"], 1_000]);
});
