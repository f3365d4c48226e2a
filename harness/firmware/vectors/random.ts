/**
 * What would nobody have thought of? Random runs for the golden vectors, the same ones from the same seed.
 *
 * Harness layer. Everything happens within seconds of everything else, so that deadlines, strokes and inputs meet.
 */
import { INHIBIT_CAUSES, type SettingsInput, validateSettings } from "../../../lib/pacing/index.js";
import { randomFrom } from "../../stimuli/random.js";
import type { Play } from "./play.js";

const MILLI = 1_000;

/** A run of `count` events from a seed. */
export function randomPlay(seed: number, count: number, latenessMicros = 0): Play {
  const draw = randomFrom(seed);
  const upTo = (most: number): number => Math.floor(draw() * (most + 1));
  const settings = soundSettings(upTo);
  const events: string[] = [];
  let atMicros = 0;
  for (let i = 0; i < count; i++) {
    atMicros += gapMicros(upTo);
    events.push(`${atMicros / 1_000_000} ${event(upTo, () => describe(soundSettings(upTo)))}`);
    if (upTo(30) === 0) {
      events.push(`${(atMicros += upTo(500) * MILLI) / 1_000_000} power-off`);
      events.push(
        `${(atMicros += upTo(4_000) * MILLI) / 1_000_000} power-on ${upTo(2) ? "dark-known" : "dark-unknown"}`,
      );
    }
  }
  return {
    name: `random-${seed}`,
    shows: [
      `${count} random events from seed ${seed}: every mode, changes of settings, power cuts, many at one moment${latenessMicros ? ", late wake-ups" : ""}.`,
    ],
    laws: ["totality", "balance"],
    settings,
    events,
    until: atMicros / 1_000_000 + 10,
    ...(latenessMicros ? { latenessMicros } : {}),
  };
}

function gapMicros(upTo: (most: number) => number): number {
  const most = [0, 5, 30, 600, 600, 1_500, 4_000][upTo(6)] as number;
  return upTo(most) * MILLI;
}

function event(upTo: (most: number) => number, settings: () => string): string {
  const cause = INHIBIT_CAUSES[upTo(INHIBIT_CAUSES.length - 1)] as string;
  const kinds: readonly (readonly [weight: number, text: string])[] = [
    [10, "contact"],
    [5, "close"],
    [5, "open"],
    [3, "prime-on"],
    [3, "prime-off"],
    [1, "hold-on"],
    [3, "hold-off"],
    [1, `inhibit-on ${cause}`],
    [4, `inhibit-off ${cause}`],
    [2, "reset"],
    [1, "wake"],
    [1, `settings ${settings()}${upTo(1) ? " confirmed" : ""}`],
  ];
  let left = upTo(kinds.reduce((sum, [weight]) => sum + weight, -1));
  const found = kinds.find(([weight]) => (left -= weight) < 0) as readonly [number, string];
  return found[1];
}

function soundSettings(upTo: (most: number) => number): SettingsInput {
  for (;;) {
    const [strokes, contacts] = [1 + upTo(8), 1 + upTo(8)];
    const most = Math.ceil(strokes / contacts);
    const spacing = (1 + upTo(400)) * MILLI;
    const input: SettingsInput = {
      strokes,
      contacts,
      cadence: upTo(1) ? "spread" : "prompt",
      leastSpacingMicros: spacing,
      owedLimitStrokes: most + upTo(3),
      graceMicros: most * spacing + upTo(3_000) * MILLI,
      longestPrimeMicros: (1 + upTo(2_000)) * MILLI,
      primeSpacingMicros: spacing + upTo(300) * MILLI,
      contactsDuringPrime: upTo(1) ? "earn" : "ignore",
      guardBudgetStrokes: upTo(2) ? 1 + upTo(12) : 0,
      guardPeriodMicros: (1 + upTo(7_000)) * MILLI,
      guardBurstStrokes: most + upTo(5),
      closedMicros: upTo(40) * MILLI,
      openMicros: upTo(40) * MILLI,
      leastContactMicros: upTo(1) ? upTo(150) * MILLI : 0,
      stuckMicros: upTo(1) ? (41 + upTo(1_500)) * MILLI : 0,
      silentMicros: upTo(1) ? (1 + upTo(4_000)) * MILLI : 0,
      largestIncrease: 1 + upTo(3),
    };
    if (validateSettings(input).ok) return input;
  }
}

function describe(settings: SettingsInput): string {
  return Object.entries(settings)
    .map(([name, value]) => `${name}=${value}`)
    .join(" ");
}
