/**
 * What does the operator do when its streams complete, fail, or are left? The stated meanings, in virtual time.
 */
import { from, NEVER, Observable, of, take, throwError } from "rxjs";
import { expect, test } from "vitest";
import type { InhibitCause, Settings } from "../../lib/pacing/index.js";
import { type MeterInput, pace } from "../../lib/reactive/index.js";
import { bench, collect, effectsOf, onSubscribe, prompt, strokesOf } from "./rig.js";

const threeForOne = prompt({ strokes: 3 });

test("when the meter completes, what is owed is still fed, then the output completes", () => {
  const { scheduler, controls, pace, isLive } = bench();
  const output = collect(of("contact" as const).pipe(pace(prompt({ strokes: 3, silentMicros: 60_000_000 }))));
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0 paced", "1 paced", "2 paced"]);
  // Neither the alarm for silence nor the controls kept it alive.
  expect([output.ending, scheduler.now(), isLive(), controls.hold$.observed]).toEqual([
    "complete",
    2_000,
    false,
    false,
  ]);
});

test("when the meter completes, what the grace does not let through is shed, then the output completes", () => {
  const { scheduler, controls, pace, at } = bench();
  const output = collect(of("contact" as const).pipe(pace(prompt({ strokes: 3, graceMicros: 3_000_000 }))));
  at(500, () => {
    controls.prime$.next(true);
  });
  scheduler.flush();
  expect(effectsOf(output.values).filter(({ kind }) => kind === "shed")).toEqual([
    { kind: "shed", atMicros: 3_000_000, cause: "still", strokes: 2 },
  ]);
  expect([output.ending, scheduler.now()]).toEqual(["complete", 3_000]);
});

test("when the meter completes in a closure, the closure still qualifies and is fed", () => {
  const { scheduler, pace } = bench();
  const output = collect(of("close" as const).pipe(pace(prompt({ strokes: 2 }))));
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0.01 paced", "1.01 paced"]);
  expect(output.ending).toBe("complete");
});

test("a meter that completes with nothing owed completes the output at once, even while primed", () => {
  const { meter$, controls, pace, isLive } = bench();
  const output = collect(meter$.pipe(pace(prompt({ silentMicros: 1_000_000 }))));
  controls.prime$.next(true);
  meter$.complete();
  expect([strokesOf(output.values), output.ending, isLive()]).toEqual([["0 primed"], "complete", false]);
});

test("a meter that says nothing and never ends still raises the alarm for silence", () => {
  const { scheduler, pace } = bench();
  const output = collect((NEVER as Observable<MeterInput>).pipe(pace(prompt({ silentMicros: 5_000_000 }))));
  scheduler.flush();
  expect(effectsOf(output.values)).toEqual([{ kind: "alarm-on", atMicros: 5_000_000, alarm: "silent" }]);
});

test.each(["meter", "prime$", "hold$", "inhibit$", "reset$", "settings$"] as const)(
  "when %s errors, strokes stop at once, what is owed is shed in sight, and the error is passed on",
  (input) => {
    const { scheduler, meter$, controls, at, pace, isLive } = bench();
    const output = collect(meter$.pipe(pace(threeForOne)));
    meter$.next("contact");
    at(500, () => {
      (input === "meter" ? meter$ : controls[input]).error("cable cut");
    });
    scheduler.flush();
    expect(effectsOf(output.values)).toEqual([
      { kind: "counted", atMicros: 0, contacts: 1, earned: 3 },
      { kind: "paced", atMicros: 0 },
      { kind: "shed", atMicros: 500_000, cause: "inhibit", strokes: 2 },
      { kind: "alarm-on", atMicros: 500_000, alarm: "shed-in-inhibit" },
    ]);
    expect([output.ending, isLive()]).toEqual([{ error: "cable cut" }, false]);
  },
);

test.each([
  ["undefined", undefined],
  ["null", null],
  ["1", 1],
  ["true", true],
  ['"contcat"', "contcat"],
  ['""', ""],
  ["a value of type object", { kind: "contact" }],
  ["a value of type function", () => "contact"],
])("a meter that says %s stops the strokes, and the error says so with the mend", (told, value) => {
  const { scheduler, meter$, at, pace, isLive } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  at(500, () => {
    meter$.next(value as MeterInput);
  });
  scheduler.flush();
  expect(effectsOf(output.values)).toEqual([
    { kind: "counted", atMicros: 0, contacts: 1, earned: 3 },
    { kind: "paced", atMicros: 0 },
    { kind: "shed", atMicros: 500_000, cause: "inhibit", strokes: 2 },
    { kind: "alarm-on", atMicros: 500_000, alarm: "shed-in-inhibit" },
  ]);
  const error = new TypeError(
    `The meter said ${told}, which is neither "close", "open" nor "contact". ` +
      "Map what your meter emits to one of these words before pace() or qualifyEdges().",
  );
  expect([output.ending, isLive()]).toEqual([{ error }, false]);
});

test("an inhibit of a cause that does not exist forbids strokes until `other` is switched off", () => {
  const { scheduler, meter$, controls, pace } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  const say = (cause: string, on: boolean): void => {
    controls.inhibit$.next({ cause: cause as InhibitCause, on });
    meter$.next("contact");
  };
  say("tnak", true);
  say("tnak", false);
  say("tank", false);
  const whileOn = strokesOf(output.values);
  say("other", false);
  scheduler.flush();
  expect([whileOn, strokesOf(output.values)]).toEqual([[], ["0 paced", "1 paced", "2 paced"]]);
});

test("a control that errors after the meter has completed stops what was still being fed", () => {
  const { scheduler, controls, at, pace } = bench();
  const output = collect(of("contact" as const).pipe(pace(threeForOne)));
  at(500, () => {
    controls.inhibit$.error("bus down");
  });
  scheduler.flush();
  expect([strokesOf(output.values), output.ending]).toEqual([["0 paced"], { error: "bus down" }]);
});

test("a control that errors while it is subscribed keeps the meter from being subscribed", () => {
  const log: string[] = [];
  const meter$ = from(["contact"] as const).pipe(onSubscribe(log, "meter"));
  const output = collect(meter$.pipe(pace(prompt(), { hold$: throwError(() => "no panel") })));
  expect([log, strokesOf(output.values), output.ending]).toEqual([[], [], { error: "no panel" }]);
});

test("settings that were never validated end in an error, not in a silent pacer", () => {
  const { meter$, controls, pace, isLive } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  controls.settings$.next({ settings: undefined as unknown as Settings, confirmed: true });
  expect(output.ending).toEqual({ error: expect.any(TypeError) as unknown });
  expect(output.values.at(-1)?.state).toMatchObject({ owed: 0, shedInhibit: 2 });
  expect(isLive()).toBe(false);
});

test("a prime stream that completes while on releases the override", () => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const output = collect(meter$.pipe(pace(prompt())));
  controls.prime$.next(true);
  at(1_500, () => {
    controls.prime$.complete();
  });
  scheduler.flush();
  expect(strokesOf(output.values)).toEqual(["0 primed", "1 primed"]);
  expect(output.values.at(-1)?.state.primePressed).toBe(0);
});

test.each([
  ["hold", { held: 1, inhibits: 0, ignored: 1, shedInhibit: 0 }],
  ["inhibit", { held: 0, inhibits: 4, ignored: 0, shedInhibit: 3 }],
] as const)("a %s stream that completes while on stays on", (control, wanted) => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  if (control === "hold") controls.hold$.next(true);
  else controls.inhibit$.next({ cause: "pump", on: true });
  controls.hold$.complete();
  controls.inhibit$.complete();
  at(1_000, () => {
    meter$.next("contact");
  });
  scheduler.flush();
  expect(output.values.at(-1)?.state).toMatchObject({ paced: 0, ...wanted });
});

test("unsubscribing cancels the wake-up, leaves every input, and nothing more comes", () => {
  const { scheduler, meter$, at, pace, isLive } = bench();
  const output = collect(meter$.pipe(pace(threeForOne)));
  meter$.next("contact");
  const liveBefore = isLive();
  at(500, () => {
    output.subscription.unsubscribe();
  });
  scheduler.flush();
  expect([liveBefore, isLive(), scheduler.now(), strokesOf(output.values), output.ending]).toEqual([
    true,
    false,
    500,
    ["0 paced"],
    undefined,
  ]);
});

test("leaving in the middle of a meter that emits while it is subscribed stops that meter", () => {
  let pulled = 0;
  const endless$ = new Observable<MeterInput>((subscriber) => {
    while (!subscriber.closed && pulled < 1_000) {
      pulled += 1;
      subscriber.next("contact");
    }
  });
  const { pace, isLive } = bench();
  const output = collect(endless$.pipe(pace(prompt()), take(3)));
  expect([pulled, output.values.length, output.ending, isLive()]).toEqual([3, 3, "complete", false]);
});
