/**
 * What is a scenario, and which times suit the settings in force? Harness layer.
 *
 * A scenario is made for the settings that are being proved: its contacts come as fast or as slow as that ratio and
 * that cap make them interesting, and no longer than it takes to bite.
 */
import type { LawName } from "../../lib/laws/index.js";
import {
  DAY,
  type Micros,
  type Settings,
  type SettingsInput,
  validateSettings,
} from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { SETTING_NAMES } from "../link/setting-names.js";
import type { Passage, Stimulus } from "./passage.js";

export interface Scenario {
  /** In kebab case. */
  readonly name: string;
  /** What happens in it, in one line. */
  readonly about: string;
  /** The inputs without which it cannot be played. */
  readonly needs: readonly StimulusEvent["kind"][];
  /** The laws that it is there to show. */
  readonly shows: readonly LawName[];
  /** Settings of its own that let a law bite, laid over those in force where the device can be given them. */
  own?(settings: Settings, quick: boolean): Partial<SettingsInput>;
  /** Only where time can be let go on at will: it would take hours. */
  readonly virtualOnly?: boolean;
  /** It is about the device's clock, which must be settable. */
  readonly needsStart?: boolean;
  /** Nothing but the plain run: it is long. */
  readonly plainOnly?: boolean;
  make(given: Given): readonly Stimulus[];
}

/** What a scenario is made for. */
export interface Given {
  /** Those in force, the scenario's own laid over. */
  readonly settings: Settings;
  readonly times: Times;
  /** One tick of the device's clock, in µs. */
  readonly tickMicros: Micros;
  readonly takes: ReadonlySet<StimulusEvent["kind"]>;
}

/** Times that suit the settings, each a plain number of milliseconds where it may be. */
export interface Times {
  /** Contacts this far apart leave room for their strokes twice over. */
  readonly easyMicros: Micros;
  /** Contacts this far apart can just be kept up with. */
  readonly fullMicros: Micros;
  /** Contacts this far apart earn twice what the cap allows, where the meter can make them. */
  readonly hastyMicros: Micros;
  /** How many contacts earn some six strokes, at least six, at most {@link CONTACTS_MOST}. */
  readonly few: number;
}

/** Most contacts of a scenario's run: what a ratio does only after more of them is not waited for. */
const CONTACTS_MOST = 20_000;
const STROKES_WANTED = 6;
/** Least distance of two contacts: what a serial line can carry one by one. */
const LEAST_GAP: Micros = 20_000;
const PLAIN: Micros = 1_000;

export function timesFor(settings: Settings): Times {
  const { strokes, contacts, leastSpacingMicros, leastContactMicros, closedMicros, openMicros } = settings;
  const feed = (leastSpacingMicros * strokes) / contacts;
  const possible = Math.max(leastContactMicros, 2 * (closedMicros + openMicros), LEAST_GAP);
  const plain = (micros: Micros): Micros => Math.ceil(Math.max(micros, possible) / PLAIN) * PLAIN;
  const few = Math.ceil((STROKES_WANTED * contacts) / strokes);
  return {
    easyMicros: plain(2 * feed),
    fullMicros: plain(1.1 * feed),
    hastyMicros: plain(feed / 2),
    few: Math.min(Math.max(few, STROKES_WANTED), CONTACTS_MOST),
  };
}

/** Long enough for the strokes of the last contacts, if they come at the pace of the contacts before. */
export function tailFor(settings: Settings, intervalMicros: Micros): Micros {
  const strokes = settings.strokesPerContactMost * settings.leastSpacingMicros;
  return Math.min(settings.graceMicros, intervalMicros + strokes) + settings.closedMicros + PLAIN;
}

/** After so long without input a closure has qualified, what it earned is paid or shed, and a prime has run out. */
export function settlingMicros({ closedMicros, graceMicros, longestPrimeMicros }: Settings): Micros {
  return closedMicros + graceMicros + longestPrimeMicros + PLAIN;
}

/** The least grace that the settings allow, and some more. */
export function shortGrace({ strokesPerContactMost, leastSpacingMicros }: Settings): Micros {
  return Math.ceil((1.5 * strokesPerContactMost * leastSpacingMicros) / PLAIN) * PLAIN;
}

/** A grace that so many strokes of one contact need, and a millisecond for each, which no clock's tick is longer than. */
export function graceFor(strokes: number, { leastSpacingMicros }: Settings): Micros {
  return Math.min((strokes + 1) * (leastSpacingMicros + PLAIN), DAY);
}

/** The settings with some changed; as they were if the change cannot be. */
export function changed(settings: Settings, change: Partial<SettingsInput>): Settings {
  const base = Object.fromEntries(
    [...SETTING_NAMES, "strokeBasis" as const].map((name) => [name, settings[name]]),
  );
  const verdict = validateSettings({ ...base, ...change } as unknown as SettingsInput);
  return verdict.ok ? verdict.settings : settings;
}

/** The laws that any feeding shows. */
export const FEEDING: readonly LawName[] = [
  "proportion",
  "balance",
  "cap",
  "causality",
  "debt",
  "still-water",
  "totality",
];
/** Those, and the ones that a second run of it shows. */
export const EVERYWHERE: readonly LawName[] = [...FEEDING, "wake-ups", "time-shift", "lateness"];

/** A scenario of one stimulus. */
export function one(passages: readonly Passage[], tailMicros: number): readonly Stimulus[] {
  return [{ passages, tailMicros }];
}
