/**
 * What is the device at the far end like, and how does it say so? The greeting of LINK.md, section 4. Harness layer.
 */
import type { SettingsInput } from "../../lib/pacing/index.js";
import { TEXT_MOST_FROM_DEVICE } from "./line.js";
import { type LinkInput, NUMBER_MOST, type Reported, wireWords } from "./message.js";

/** What a device says of itself in its greeting. */
export interface DeviceProfile {
  /** At most 60 characters. */
  readonly name: string;
  readonly role: "controller" | "fixture";
  /** 1,000 to 1,000,000. */
  readonly ticksPerSecond: number;
  /** Width of its counter, in bits. */
  readonly width: 16 | 24 | 32;
  /** 1 to 255 inputs. */
  readonly queue: number;
  /** 1 to 16 requests. */
  readonly window: number;
  /** 0 to 65,535 reports. */
  readonly keep: number;
  readonly clock: readonly ("stepped" | "free" | "settable" | "lag")[];
  readonly takes: readonly LinkInput["kind"][];
  /** What it reports, without `did` and `fault`. */
  readonly tells: readonly Reported["kind"][];
  /** The laws that can be observed on it, by their numbers. */
  readonly laws: readonly number[];
  /** The settings that it can be given. */
  readonly settable: readonly (keyof SettingsInput)[];
  /** What is set by hand, before anything is staged. */
  readonly madeByHand?: SettingsInput;
}

const NAME_MOST = 60;
const NUMBER_DIGITS = String(NUMBER_MOST).length;

/** The lines of the greeting, as what and words; lists are continued where they do not fit. */
export function greetingOf(profile: DeviceProfile): { readonly what: string; readonly words: string }[] {
  return [
    { what: "link", words: "1" },
    { what: "name", words: wireWords(profile.name, NAME_MOST) },
    { what: "role", words: profile.role },
    { what: "ticks", words: `${profile.ticksPerSecond} ${profile.width}` },
    { what: "queue", words: `${profile.queue}` },
    { what: "window", words: `${profile.window}` },
    { what: "keep", words: `${profile.keep}` },
    ...list("clock", profile.clock),
    ...list("takes", profile.takes),
    ...list("tells", profile.tells),
    ...list("laws", profile.laws),
    ...list("settings", profile.settable.length === 0 ? ["none"] : profile.settable),
  ];
}

function list(what: string, words: readonly (string | number)[]): { what: string; words: string }[] {
  const most = TEXT_MOST_FROM_DEVICE - NUMBER_DIGITS - ` is ${what} `.length;
  const lines = [""];
  for (const word of words) {
    const last = lines[lines.length - 1] ?? "";
    const longer = last === "" ? `${word}` : `${last} ${word}`;
    if (longer.length <= most) lines[lines.length - 1] = longer;
    else lines.push(`${word}`);
  }
  return lines.map((line) => ({ what, words: line }));
}
