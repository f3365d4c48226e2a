/**
 * An operator who does anything, against a model of the pacer that knows only what an operator sees.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { type ModelRun, runModel } from "../../harness/devices/model.js";
import { INHIBIT_CAUSES, type InhibitCause, SECOND, type SettingsInput } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

const TERMS: SettingsInput = {
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 4,
  graceMicros: 8 * SECOND,
};

/** What an operator knows: what was switched on, and how much water has passed since the ratio was set. */
interface Seen {
  atMicros: number;
  held: boolean;
  pressed: boolean;
  inhibits: Set<InhibitCause>;
  /** Strokes earned under earlier ratios, and what is paid for under this one, in parts of 1/contacts. */
  earnedBefore: number;
  paid: number;
  contacts: number;
  strokes: number;
}

interface Bench {
  readonly run: ModelRun;
}

class Action implements fc.Command<Seen, Bench> {
  constructor(
    private readonly name: string,
    private readonly afterMicros: number,
    private readonly act: (seen: Seen, give: (event: StimulusEvent) => void) => void,
  ) {}

  check(): boolean {
    return true;
  }

  run(seen: Seen, { run }: Bench): void {
    seen.atMicros += this.afterMicros;
    this.act(seen, run.give);
    run.end(seen.atMicros);
    const s = run.state;
    const stopped = seen.held || seen.inhibits.size > 0;
    expect({
      held: s.held === 1,
      inhibits: INHIBIT_CAUSES.filter((_, i) => (s.inhibits & (1 << i)) !== 0),
      pressed: s.primePressed === 1,
      earned: s.earned,
      remainder: s.remainder,
    }).toEqual({
      held: seen.held,
      inhibits: INHIBIT_CAUSES.filter((cause) => seen.inhibits.has(cause)),
      pressed: seen.pressed,
      earned: seen.earnedBefore + Math.floor(seen.paid / seen.contacts),
      remainder: seen.paid % seen.contacts,
    });
    if (stopped) expect([s.owed, s.priming]).toEqual([0, 0]);
  }

  toString(): string {
    return `${this.name} after ${this.afterMicros} µs`;
  }
}

const after = fc.oneof(fc.constant(0), fc.nat({ max: 3 * SECOND }), fc.nat({ max: 20 * SECOND }));

const ACTIONS = [
  after.map(
    (micros) =>
      new Action("water", micros, (seen, give) => {
        give({ kind: "contact", atMicros: seen.atMicros });
        if (!seen.held) seen.paid += seen.strokes;
      }),
  ),
  fc.tuple(after, fc.boolean()).map(
    ([micros, on]) =>
      new Action(on ? "press prime" : "release prime", micros, (seen, give) => {
        give({ kind: on ? "prime-on" : "prime-off", atMicros: seen.atMicros });
        seen.pressed = on;
      }),
  ),
  fc.tuple(after, fc.boolean()).map(
    ([micros, on]) =>
      new Action(on ? "hold" : "resume", micros, (seen, give) => {
        give({ kind: on ? "hold-on" : "hold-off", atMicros: seen.atMicros });
        seen.held = on;
      }),
  ),
  fc.tuple(after, fc.boolean(), fc.constantFrom(...INHIBIT_CAUSES)).map(
    ([micros, on, cause]) =>
      new Action(`${on ? "inhibit" : "permit"} ${cause}`, micros, (seen, give) => {
        give({ kind: on ? "inhibit-on" : "inhibit-off", atMicros: seen.atMicros, cause });
        if (on) seen.inhibits.add(cause);
        else seen.inhibits.delete(cause);
      }),
  ),
  fc.tuple(after, after, fc.boolean()).map(
    ([micros, dark, darkKnown]) =>
      new Action("power cut", micros, (seen, give) => {
        give({ kind: "power-off", atMicros: seen.atMicros });
        seen.atMicros += dark;
        give({ kind: "power-on", atMicros: seen.atMicros, darkKnown });
        seen.pressed = false;
      }),
  ),
  fc.tuple(after, fc.integer({ min: 1, max: 6 }), fc.integer({ min: 1, max: 6 })).map(
    ([micros, strokes, contacts]) =>
      new Action(`set ${strokes}:${contacts}`, micros, (seen, give) => {
        const settings = sound({ ...TERMS, strokes, contacts });
        give({ kind: "settings", atMicros: seen.atMicros, settings, confirmed: true });
        seen.earnedBefore += Math.floor(seen.paid / seen.contacts);
        seen.paid = Math.floor(((seen.paid % seen.contacts) * contacts) / seen.contacts);
        seen.strokes = strokes;
        seen.contacts = contacts;
      }),
  ),
];

test("whatever an operator does, what was earned and what is switched on is what the operator would reckon", () => {
  let longest = 0;
  fc.assert(
    fc.property(fc.commands(ACTIONS, { maxCommands: 120, size: "+1" }), (commands) => {
      longest = Math.max(longest, [...commands].length);
      fc.modelRun(
        () => ({
          model: {
            atMicros: 0,
            held: false,
            pressed: false,
            inhibits: new Set<InhibitCause>(),
            earnedBefore: 0,
            paid: 0,
            contacts: TERMS.contacts,
            strokes: TERMS.strokes,
          },
          real: { run: runModel(sound(TERMS), () => undefined) },
        }),
        commands,
      );
    }),
    { numRuns: 300 },
  );
  expect(longest).toBeGreaterThan(60); // The generator does reach long runs.
});
