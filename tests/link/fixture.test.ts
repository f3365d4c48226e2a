/**
 * Does a fixture play contacts as closures, and are strokes that it saw named by what the operator did?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { fixtureProfile, MOCK_PROFILE, openMockTransport } from "../../harness/devices/mock.js";
import type { JobEnd } from "../../harness/device.js";
import { runModel } from "../../harness/devices/model.js";
import { connect } from "../../harness/link/client.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { playable, StrokeCauses } from "../../harness/link/fixture.js";
import type { Micros, Settings, SettingsInput } from "../../lib/pacing/index.js";
import { instantSorter, isStimulus, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus, sound } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";

const RUNS = runs(200);
const TAIL_MICROS = 20_000_000;

/** Wired to every input but the contact itself; sees strokes. */
function wiredFixture(settings: Settings): DeviceProfile {
  const takes = MOCK_PROFILE.takes.filter((kind) => kind !== "contact" && kind !== "settings");
  const madeByHand = Object.fromEntries(MOCK_PROFILE.settable.map((name) => [name, settings[name]]));
  return { ...fixtureProfile(madeByHand as unknown as SettingsInput), takes };
}

interface Played {
  readonly end: JobEnd;
  readonly trace: TraceEvent[];
}

async function play(
  settings: Settings,
  stimulus: readonly StimulusEvent[],
  toleranceMicros = 0,
): Promise<Played> {
  const device = await connect(await openMockTransport(runModel, wiredFixture(settings)), {
    toleranceMicros,
  });
  const trace: TraceEvent[] = [];
  const end = await device.run({
    settings,
    stimulus,
    untilMicros: (stimulus.at(-1)?.atMicros ?? 0) + TAIL_MICROS,
    sink: (event) => trace.push(event),
  });
  await device.close();
  return { end, trace };
}

/** What the model tells of inputs and strokes. */
function seenOf(settings: Settings, stimulus: readonly StimulusEvent[]): TraceEvent[] {
  const trace: TraceEvent[] = [];
  const run = runModel(settings, (event) => trace.push(event));
  for (const event of stimulus) run.give(event);
  run.end((stimulus.at(-1)?.atMicros ?? 0) + TAIL_MICROS);
  return trace.filter((event) => isStimulus(event) || event.kind === "paced" || event.kind === "primed");
}

function inOrder(events: readonly StimulusEvent[]): StimulusEvent[] {
  const sorted: StimulusEvent[] = [];
  const sorter = instantSorter((event) => sorted.push(event));
  for (const event of events) sorter.take(event);
  sorter.end();
  return sorted;
}

test("behind a fixture the inputs and the named strokes are the model's, whatever the settings and the stimulus", async () => {
  let primed = 0;
  await fc.assert(
    fc.asyncProperty(anySettings, anyStimulus, async (any, given) => {
      // A trip is what no fixture sees.
      const settings = { ...any, guardBudgetStrokes: 0 };
      const stimulus = inOrder(given.filter(({ kind }) => kind !== "contact" && kind !== "settings"));
      const expected = seenOf(settings, stimulus);
      // In the very µs in which the longest hold ends a stroke can be either, and one that is seen does not say which.
      const ends = stimulus
        .filter(({ kind }) => kind === "prime-on")
        .map(({ atMicros }) => atMicros + settings.longestPrimeMicros);
      fc.pre(!expected.some(({ kind, atMicros }) => kind === "paced" && ends.includes(atMicros)));
      expect(await play(settings, stimulus)).toEqual({ end: { ok: true }, trace: expected });
      primed += expected.filter(({ kind }) => kind === "primed").length;
    }),
    { numRuns: RUNS },
  );
  expect(primed).toBeGreaterThan(0);
});

test("contacts are played as closures that count, in steady flow stroke for stroke", async () => {
  const settings = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000, cadence: "prompt" });
  const stimulus: StimulusEvent[] = Array.from({ length: 12 }, (_, i) => ({
    kind: "contact",
    atMicros: 1_000_000 * (i + 1),
  }));
  const { end, trace } = await play(settings, stimulus);
  expect(end).toEqual({ ok: true });
  const count = (wanted: TraceEvent["kind"]): number => trace.filter(({ kind }) => kind === wanted).length;
  expect(["close", "open", "contact", "paced", "primed"].map((kind) => count(kind as "close"))).toEqual([
    12, 12, 0, 18, 0,
  ]);
});

test("contacts too close for closures are a fault that says how far apart they must be", async () => {
  const settings = sound({
    strokes: 1,
    contacts: 1,
    leastSpacingMicros: 250_000,
    closedMicros: 20_000,
    openMicros: 20_000,
  });
  const { end, trace } = await play(settings, [
    { kind: "contact", atMicros: 1_000_000 },
    { kind: "contact", atMicros: 1_050_000 },
  ]);
  expect({ end, trace }).toEqual({
    end: {
      ok: false,
      fault: {
        kind: "refused",
        message: "contacts at 1.05 s and before are too close to be played as closures",
        mend: "leave at least 0.082 s between contacts",
      },
    },
    trace: [],
  });
});

test("closures are in the documented order with what else happens at their instants, and never long enough to be stuck", () => {
  const settings = sound({
    strokes: 1,
    contacts: 1,
    leastSpacingMicros: 250_000,
    closedMicros: 10_000,
    openMicros: 0,
    stuckMicros: 12_000,
  });
  const played = playable(
    [
      { kind: "contact", atMicros: 1_000_000 },
      { kind: "prime-on", atMicros: 1_011_000 },
    ],
    settings,
    { takes: new Set(["close", "open", "prime-on"] as const) },
  );
  expect(played).toEqual(
    inOrder([
      { kind: "close", atMicros: 1_000_000 },
      { kind: "prime-on", atMicros: 1_011_000 },
      { kind: "open", atMicros: 1_011_000 },
    ]),
  );
});

const LONGEST = 5_000;
const on = (kind: "prime-on" | "hold-on" | "hold-off" | "prime-off", atMicros: Micros): StimulusEvent => ({
  kind,
  atMicros,
});

test.each<[string, StimulusEvent[], number, readonly [Micros, string][]]>([
  ["no press", [], 0, [[100, "paced"]]],
  [
    "held past the longest hold",
    [on("prime-on", 1_000)],
    0,
    [
      [6_000, "primed"],
      [6_001, "paced"],
    ],
  ],
  ["released", [on("prime-on", 1_000), on("prime-off", 2_000)], 0, [[2_000, "paced"]]],
  [
    "released, with a tolerance",
    [on("prime-on", 1_000), on("prime-off", 2_000)],
    300,
    [
      [2_299, "primed"],
      [2_300, "paced"],
    ],
  ],
  [
    "ended by a hold",
    [on("prime-on", 1_000), on("hold-on", 2_000), on("hold-off", 3_000)],
    0,
    [[3_500, "paced"]],
  ],
  ["begun in a hold", [on("hold-on", 500), on("prime-on", 1_000)], 0, [[1_500, "paced"]]],
])("a stroke after a press of prime: %s", (_, events, toleranceMicros, wanted) => {
  const causes = new StrokeCauses({ longestPrimeMicros: LONGEST }, toleranceMicros);
  for (const event of events) causes.did(event);
  expect(wanted.map(([atMicros]) => [atMicros, causes.causeAt(atMicros)])).toEqual(wanted);
});
