/**
 * By what names does a person set the pacer? The one list of settings: option, key of the settings file, and what
 * each means to the core. Harness layer.
 *
 * An option `--grace` and the key `grace` of a settings file are one thing and take the same values.
 */
import type { Settings, SettingsInput } from "../../lib/pacing/index.js";
import {
  formatBudget,
  formatDuration,
  isRefusal,
  rateOf,
  readBudget,
  readCount,
  readDuration,
  readRate,
  readRatio,
  type Refusal,
} from "./quantity.js";

export interface Term {
  /** Name of the option (without the dashes) and of the key. */
  readonly name: string;
  /** What stands after the option in the help. */
  readonly value: string;
  /** What it is, with its default. */
  readonly about: string;
  readonly example: string | number;
  /** The core's settings that it gives. */
  readonly sets: readonly (keyof SettingsInput)[];
  /** How a settings file writes it: a number, a text of this form, or one of these words. */
  readonly form: "number" | RegExp | readonly string[];
  read(text: string): Partial<SettingsInput> | Refusal;
  show(settings: Settings): string | number;
}

const DURATION = /^(0|never|[0-9.]+ ?[a-zA-Z]+)$/;

export const TERMS: readonly Term[] = [
  {
    name: "ratio",
    value: "m:d",
    about: "m strokes for every d contacts, each 1 to 65535",
    example: "2:1",
    sets: ["strokes", "contacts"],
    form: /^[0-9]+:[0-9]+$/,
    read: readRatio,
    show: ({ strokes, contacts }) => `${strokes}:${contacts}`,
  },
  rate("cap", "leastSpacingMicros", "the most strokes per minute, of any cause; may be decimal", 120),
  choice(
    "cadence",
    "cadence",
    ["spread", "prompt"],
    "strokes evenly over the last contact interval, or at once",
  ),
  count(
    "owed-limit",
    "owedLimitStrokes",
    "most strokes owed; beyond it they are shed (10 contacts' worth)",
    20,
  ),
  duration(
    "grace",
    "graceMicros",
    "still water: longest from a contact to a stroke it paid for (90 s)",
    "90 s",
  ),
  {
    name: "guard",
    value: "budget",
    about: "trip above so many strokes per period (off)",
    example: "500/h",
    sets: ["guardBudgetStrokes", "guardPeriodMicros"],
    form: /^(off|[0-9]+\/.+)$/,
    read: readBudget,
    show: formatBudget,
  },
  count("guard-burst", "guardBurstStrokes", "strokes of the guard's budget that may come at once (all)", 100),
  duration("longest-prime", "longestPrimeMicros", "longest that one press of prime is obeyed (60 s)", "60 s"),
  rate("prime-rate", "primeSpacingMicros", "strokes per minute while priming (the cap)", 60),
  choice(
    "contacts-during-prime",
    "contactsDuringPrime",
    ["earn", "ignore"],
    "what contacts do while priming",
  ),
  duration("closed", "closedMicros", "a closure counts once closed for this long (10 ms)", "10 ms"),
  duration("open", "openMicros", "and after the contact was open for this long (10 ms)", "10 ms"),
  duration("least-contact", "leastContactMicros", "contacts closer than this are rejected (0)", "60 ms"),
  duration("stuck", "stuckMicros", "closed for longer is alarmed, or never (1 h)", "1 h"),
  duration("silent", "silentMicros", "no contact for longer is alarmed, or never (1 d)", "1 d"),
  count("largest-increase", "largestIncrease", "a larger change of the feed while running is refused (2)", 2),
  choice("stroke-basis", "strokeBasis", ["full", "measured"], "why the volume of a stroke is trusted"),
];

function single(
  name: keyof SettingsInput,
  read: number | string | Refusal,
): Partial<SettingsInput> | Refusal {
  return isRefusal(read) ? read : { [name]: read };
}

function duration(name: string, sets: NumberSetting, about: string, example: string): Term {
  return {
    name,
    value: "duration",
    about,
    example,
    sets: [sets],
    form: DURATION,
    read: (text) => single(sets, readDuration(text)),
    show: (settings) => formatDuration(settings[sets]),
  };
}

function rate(name: string, sets: NumberSetting, about: string, example: number): Term {
  return {
    name,
    value: "rate",
    about,
    example,
    sets: [sets],
    form: "number",
    read: (text) => single(sets, readRate(text)),
    show: (settings) => rateOf(settings[sets]),
  };
}

function count(name: string, sets: NumberSetting, about: string, example: number): Term {
  return {
    name,
    value: "count",
    about,
    example,
    sets: [sets],
    form: "number",
    read: (text) => single(sets, readCount(text)),
    show: (settings) => settings[sets],
  };
}

function choice(name: string, sets: WordSetting, words: readonly [string, string], about: string): Term {
  return {
    name,
    value: words.join("|"),
    about: `${about} (${words[0]})`,
    example: words[0],
    sets: [sets],
    form: words,
    read: (text) => single(sets, words.includes(text) ? text : { mend: `give ${words.join(" or ")}` }),
    show: (settings) => settings[sets],
  };
}

type WordSetting = "cadence" | "contactsDuringPrime" | "strokeBasis";
type NumberSetting = Exclude<keyof SettingsInput, WordSetting>;
