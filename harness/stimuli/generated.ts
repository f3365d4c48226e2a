/**
 * What else may happen to a controller, that nobody thought of? Stimuli drawn by fast-check. Harness layer.
 *
 * They are made of moves that mean something (a run of contacts, a press of prime, a power cut), so that even short ones
 * reach states deep inside. The same seed draws the same stimuli.
 */
import fc from "fast-check";
import {
  INHIBIT_CAUSES,
  type Micros,
  SECOND,
  type Settings,
  type SettingsInput,
} from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { contacts, event, type Happening, happens, type Passage, type Stimulus } from "./passage.js";
import { changed, graceFor, shortGrace, tailFor, type Times, timesFor } from "./scenario.js";
import { bouncing } from "./scenarios-edges.js";

export interface Generated {
  /** Settings laid over those in force. */
  readonly own: Partial<SettingsInput>;
  make(settings: Settings): Stimulus;
}

/** What may be drawn. */
export interface Draw {
  readonly settings: Settings;
  readonly takes: (kind: StimulusEvent["kind"]) => boolean;
  readonly settable: ReadonlySet<keyof Settings>;
  /** No pauses longer than a second or two: the device's clock runs by itself. */
  readonly brief: boolean;
}

const MOVES_MOST = 12;
const RUN_MOST = 12;

/** `runs` stimuli; the first of them are the same however many are asked for. */
export function generate(draw: Draw, seed: number, runs: number): Generated[] {
  return fc.sample(generated(draw), { seed, numRuns: runs });
}

type Move = (settings: Settings, times: Times) => readonly Passage[];

function generated(draw: Draw): fc.Arbitrary<Generated> {
  const moves = fc.array(move(draw), { minLength: 1, maxLength: MOVES_MOST, size: "max" });
  return fc.record({ own: ownSettings(draw), moves }).map(({ own, moves: drawn }) => ({
    own,
    make(settings) {
      const times = timesFor(settings);
      const passages = drawn.flatMap((each) => each(settings, times));
      return { passages, tailMicros: tailFor(settings, times.easyMicros) };
    },
  }));
}

/** Limits near what one contact needs, so that runs reach them; half of the time the settings as they are. */
function ownSettings({ settings, settable }: Draw): fc.Arbitrary<Partial<SettingsInput>> {
  const most = settings.strokesPerContactMost;
  const budget = most + 4;
  const choices: { readonly [name in keyof SettingsInput]?: SettingsInput[name] } = {
    cadence: settings.cadence === "spread" ? "prompt" : "spread",
    owedLimitStrokes: most + 1,
    graceMicros: shortGrace(settings),
    longestPrimeMicros: 3 * settings.primeSpacingMicros,
    contactsDuringPrime: settings.contactsDuringPrime === "earn" ? "ignore" : "earn",
  };
  const singles = Object.entries(choices)
    .filter(([name]) => settable.has(name as keyof Settings))
    .map(([name, value]) => ({ [name]: value }));
  const guard: Partial<SettingsInput> = {
    guardBudgetStrokes: budget,
    guardBurstStrokes: budget,
    guardPeriodMicros: 20 * budget * settings.leastSpacingMicros,
  };
  if (settable.has("guardBudgetStrokes")) singles.push(guard);
  return fc.oneof(
    fc.constant({}),
    fc.subarray(singles).map((some) => Object.assign({}, ...some) as Partial<SettingsInput>),
  );
}

/** One of the paces that matter, or anything between. */
const pace: fc.Arbitrary<(times: Times) => Micros> = fc.oneof(
  fc.constantFrom<(times: Times) => Micros>(
    (times) => times.easyMicros,
    (times) => times.fullMicros,
    (times) => times.hastyMicros,
  ),
  fc
    .integer({ min: 1, max: 40 })
    .map(
      (tenths) => (times: Times) => Math.max(times.hastyMicros, Math.ceil((times.easyMicros * tenths) / 10)),
    ),
);

function move(draw: Draw): fc.Arbitrary<Move> {
  const count = fc.integer({ min: 1, max: RUN_MOST });
  const run: fc.Arbitrary<Move> = fc
    .record({ count, pace })
    .map(({ count: many, pace: of }) => (_, times) => [contacts(many, of(times))]);
  const kinds: { readonly weight: number; readonly arbitrary: fc.Arbitrary<Move> }[] = [
    { weight: 8, arbitrary: run },
    { weight: 2, arbitrary: manyContacts(draw) },
    { weight: 2, arbitrary: pause(draw) },
  ];
  const offer = (
    weight: number,
    needs: readonly StimulusEvent["kind"][],
    arbitrary: fc.Arbitrary<Move>,
  ): void => {
    if (needs.every(draw.takes)) kinds.push({ weight, arbitrary });
  };
  offer(2, ["close", "open"], bounces());
  offer(4, ["prime-on", "prime-off"], during("prime-on", "prime-off"));
  offer(2, ["hold-on", "hold-off"], during("hold-on", "hold-off"));
  offer(2, ["inhibit-on", "inhibit-off"], inhibit());
  const modes = MODES.filter(([on, off]) => draw.takes(on.kind) && draw.takes(off.kind));
  if (modes.length > 0) kinds.push({ weight: 3, arbitrary: overlap(modes) });
  offer(
    1,
    ["reset"],
    soon().map((after) => (_, times) => [happens("reset", after(times))]),
  );
  offer(
    1,
    ["wake"],
    soon().map((after) => (_, times) => [happens("wake", after(times))]),
  );
  offer(2, ["power-off", "power-on"], powerCut(draw));
  if (draw.settable.has("strokes") && draw.settable.has("contacts")) offer(2, ["settings"], change());
  return fc.oneof(...kinds);
}

/** A part of an interval between contacts: none, some, more than one. */
function soon(): fc.Arbitrary<(times: Times) => Micros> {
  return fc.oneof(
    fc.constant(() => 0),
    fc
      .integer({ min: 1, max: 60 })
      .map((parts) => (times: Times) => Math.ceil((times.easyMicros * parts) / 40)),
  );
}

/** Enough contacts for a divided ratio to make strokes. */
function manyContacts({ brief }: Draw): fc.Arbitrary<Move> {
  return pace.map((of) => (_, times) => [contacts(brief ? Math.min(times.few, 100) : times.few, of(times))]);
}

function pause({ brief }: Draw): fc.Arbitrary<Move> {
  return fc.integer({ min: 1, max: 12 }).map((tenths) => ({ graceMicros }, { easyMicros }) => {
    const long = Math.ceil((graceMicros * tenths) / 10);
    return [contacts(1, 0, brief ? Math.min(long, 2 * SECOND) : Math.max(long, easyMicros))];
  });
}

function bounces(): fc.Arbitrary<Move> {
  return fc.array(fc.nat({ max: 3 }), { minLength: 1, maxLength: 4 }).map(
    (each) =>
      (settings, { easyMicros }) =>
        each.flatMap((many) => bouncing(settings, many, easyMicros)),
  );
}

/** Something is pressed for so long, and water may pass meanwhile. */
function during(on: "prime-on" | "hold-on", off: "prime-off" | "hold-off"): fc.Arbitrary<Move> {
  return fc
    .record({ before: soon(), held: soon(), water: fc.nat({ max: 3 }), wait: soon() })
    .map(({ before, held, water, wait }) => (_, times) => [
      happens(on, before(times)),
      ...(water > 0 ? [contacts(water, Math.ceil(times.easyMicros / 2), wait(times))] : []),
      happens(off, held(times)),
    ]);
}

function inhibit(): fc.Arbitrary<Move> {
  return fc
    .record({
      cause: fc.constantFrom(...INHIBIT_CAUSES),
      before: soon(),
      held: soon(),
      water: fc.nat({ max: 3 }),
    })
    .map(({ cause, before, held, water }) => (_, times) => [
      event(before(times), { kind: "inhibit-on", cause }),
      ...(water > 0 ? [contacts(water, Math.ceil(times.easyMicros / 2))] : []),
      event(held(times), { kind: "inhibit-off", cause }),
    ]);
}

type Mode = readonly [on: Happening, off: Happening];
const MODES: readonly Mode[] = [
  [{ kind: "prime-on" }, { kind: "prime-off" }],
  [{ kind: "hold-on" }, { kind: "hold-off" }],
  ...(["tank", "flow"] as const).map((cause): Mode => [
    { kind: "inhibit-on", cause },
    { kind: "inhibit-off", cause },
  ]),
];

/** A mode begins within another, or once more, and either ends first. */
function overlap(modes: readonly Mode[]): fc.Arbitrary<Move> {
  return fc
    .record({
      first: fc.constantFrom(...modes),
      second: fc.constantFrom(...modes),
      waits: fc.tuple(soon(), soon(), soon(), soon()),
      water: fc.nat({ max: 3 }),
      nested: fc.boolean(),
    })
    .map(({ first, second, waits: [before, between, held, rest], water, nested }) => (_, times) => [
      event(before(times), first[0]),
      event(between(times), second[0]),
      event(held(times), (nested ? second : first)[1]),
      ...(water > 0 ? [contacts(water, Math.ceil(times.easyMicros / 2))] : []),
      event(rest(times), (nested ? first : second)[1]),
    ]);
}

function powerCut({ brief }: Draw): fc.Arbitrary<Move> {
  return fc
    .record({ before: soon(), dark: soon(), long: fc.boolean(), darkKnown: fc.boolean() })
    .map(({ before, dark, long, darkKnown }) => ({ graceMicros }, times) => [
      happens("power-off", before(times)),
      event(dark(times) + (long && !brief ? graceMicros : 0), { kind: "power-on", darkKnown }),
    ]);
}

function change(): fc.Arbitrary<Move> {
  const term = fc.integer({ min: 1, max: 9 });
  return fc
    .record({ before: soon(), strokes: term, per: term, confirmed: fc.boolean(), back: fc.boolean() })
    .map(({ before, strokes, per, confirmed, back }) => (settings, times) => {
      const most = Math.ceil(strokes / per);
      const next = changed(settings, {
        strokes,
        contacts: per,
        owedLimitStrokes: Math.max(settings.owedLimitStrokes, most),
        graceMicros: Math.max(settings.graceMicros, graceFor(most, settings)),
        guardBurstStrokes: Math.max(settings.guardBurstStrokes, most),
      });
      const first = event(before(times), { kind: "settings", settings: next, confirmed });
      return back
        ? [first, contacts(3, times.easyMicros), event(0, { kind: "settings", settings, confirmed: true })]
        : [first];
    });
}
