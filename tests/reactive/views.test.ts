/**
 * Do the views tell what the pacer did, and do edges become contacts through the same core?
 */
import { share, Subject } from "rxjs";
import { expect, test } from "vitest";
import { NO_WAKE } from "../../lib/pacing/index.js";
import { effects, type MeterEdge, pace, qualifyEdges, status, strokes } from "../../lib/reactive/index.js";
import { bench, collect, effectsOf, prompt, strokesOf } from "./rig.js";

test("strokes and effects are those of the steps, in order", () => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const pacer$ = meter$.pipe(pace(prompt({ strokes: 2 })), share());
  const all = collect(pacer$);
  const told = collect(pacer$.pipe(effects()));
  const made = collect(pacer$.pipe(strokes()));
  meter$.next("contact");
  at(3_000, () => {
    controls.prime$.next(true);
    controls.prime$.next(false);
    meter$.complete();
  });
  scheduler.flush();
  expect(told.values).toEqual(effectsOf(all.values));
  expect(made.values).toEqual([
    { kind: "paced", atMicros: 0 },
    { kind: "paced", atMicros: 1_000_000 },
    { kind: "primed", atMicros: 3_000_000 },
  ]);
  expect([told.ending, made.ending]).toEqual(["complete", "complete"]);
});

test("status tells how the pacer stands, and only when that has changed", () => {
  const { scheduler, meter$, controls, at, pace } = bench();
  const shown = collect(meter$.pipe(pace(prompt({ strokes: 3, contacts: 2 })), status()));
  const still = {
    counted: 0,
    ignored: 0,
    rejected: 0,
    bounces: 0,
    earned: 0,
    paced: 0,
    primed: 0,
    refused: 0,
    owed: 0,
    remainder: 0,
    shed: { limit: 0, still: 0, hold: 0, inhibit: 0, trip: 0, power: 0 },
    alarms: [],
    inhibits: [],
    held: false,
    tripped: false,
    priming: false,
    wakeAtMicros: NO_WAKE,
  };
  meter$.next("contact");
  at(100, () => {
    meter$.next("open"); // It is open: nothing new.
  });
  at(200, () => {
    meter$.next("contact");
  });
  at(300, () => {
    controls.inhibit$.next({ cause: "tank", on: true });
    controls.inhibit$.next({ cause: "tank", on: true });
    controls.hold$.next(true);
  });
  scheduler.flush();
  const first = { ...still, counted: 1, earned: 1, paced: 1, remainder: 1 };
  const second = { ...first, counted: 2, earned: 3, owed: 2, remainder: 0 };
  const third = {
    ...second,
    owed: 0,
    shed: { ...still.shed, inhibit: 2 },
    alarms: ["shed-in-inhibit"],
    inhibits: ["tank"],
  };
  expect(shown.values).toEqual([
    { ...first, atMicros: 0 },
    { ...second, atMicros: 200_000, wakeAtMicros: 1_000_000 },
    { ...third, atMicros: 300_000 },
    { ...third, atMicros: 300_000, held: true },
  ]);
});

test("status tells of strokes that are earned and shed in one step", () => {
  const { meter$, controls, pace } = bench();
  const shown = collect(meter$.pipe(pace(prompt()), status()));
  controls.inhibit$.next({ cause: "flow", on: true });
  meter$.next("contact");
  meter$.next("contact");
  expect(shown.values.map(({ owed, shed }) => [owed, shed.inhibit])).toEqual([
    [0, 0],
    [0, 1],
    [0, 2],
  ]);
});

test("status tells of a wake-up that has moved and nothing else", () => {
  const { meter$, pace } = bench();
  const shown = collect(meter$.pipe(pace(prompt({ closedMicros: 10_000 })), status()));
  meter$.next("open");
  meter$.next("close");
  expect(shown.values.map(({ wakeAtMicros }) => wakeAtMicros)).toEqual([NO_WAKE, 10_000]);
});

test("edges become contacts when they have qualified; bounce and closures that come too fast do not", () => {
  const { scheduler, at } = bench();
  const settings = prompt({ closedMicros: 10_000, openMicros: 10_000, leastContactMicros: 500_000 });
  const edges$ = new Subject<MeterEdge>();
  const contactsMillis: number[] = [];
  edges$.pipe(qualifyEdges(settings, scheduler)).subscribe(() => contactsMillis.push(scheduler.now()));
  const edges = [
    [100, "close"],
    [103, "open"],
    [105, "close"], // Good, 10 ms from here.
    [150, "open"],
    [300, "close"], // 200 ms after the last: too fast.
    [350, "open"],
    [900, "close"], // Good.
  ] as const;
  edges.forEach(([millis, edge]) => {
    at(millis, () => {
      edges$.next(edge);
    });
  });
  scheduler.flush();
  expect(contactsMillis).toEqual([115, 910]);
});

test("qualifying completes when the last closure has qualified", () => {
  const { scheduler } = bench();
  const edges$ = new Subject<MeterEdge>();
  const contacts = collect(edges$.pipe(qualifyEdges(prompt({ stuckMicros: 60_000_000 }), scheduler)));
  edges$.next("close");
  edges$.complete();
  const before = contacts.ending;
  scheduler.flush();
  expect([before, contacts.values, contacts.ending, scheduler.now(), edges$.observed]).toEqual([
    undefined,
    ["contact"],
    "complete",
    10,
    false,
  ]);
});

test("edges that are qualified once and shared pace several pumps as raw edges would", () => {
  const { scheduler, at } = bench();
  const edges$ = new Subject<MeterEdge>();
  const contacts$ = edges$.pipe(qualifyEdges(prompt(), scheduler), share());
  const run = [prompt({ strokes: 2 }), prompt({ contacts: 3 })].map((settings) => ({
    raw: collect(edges$.pipe(pace(settings, {}, scheduler))),
    qualified: collect(contacts$.pipe(pace(settings, {}, scheduler))),
  }));
  for (let i = 0; i < 7; i++) {
    at(i * 3_000, () => {
      edges$.next("close");
    });
    at(i * 3_000 + 200, () => {
      edges$.next("open");
    });
  }
  scheduler.flush();
  const counts = run.map(({ raw }) => strokesOf(raw.values).length);
  expect(run.map(({ qualified }) => strokesOf(qualified.values))).toEqual(
    run.map(({ raw }) => strokesOf(raw.values)),
  );
  expect(counts).toEqual([14, 2]);
});
