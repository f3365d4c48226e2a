/**
 * What settings did the user ask for? Options over the settings file over the defaults, checked. Harness layer.
 *
 * All faults are told at once, under the names that the user wrote, in the user's units. What a text cannot be read
 * as goes to the core as NaN, whose complaint about it gives way to ours: so the rest is still checked.
 */
import {
  type Settings,
  type SettingsFault,
  type SettingsInput,
  validateSettings,
} from "../../lib/pacing/index.js";
import { InputError, type InputFault } from "./fault.js";
import { formatDuration, isRefusal, rateOf } from "./quantity.js";
import { type Term, TERMS } from "./terms.js";

/** A value as the user wrote it, and where. */
export interface Written {
  readonly text: string;
  readonly file?: string;
  readonly line?: number;
}

/** What was written for each term, by its name. */
export type WrittenSettings = ReadonlyMap<string, Written>;

/** Checks what was written; throws an InputError with every fault. */
export function settingsFrom(written: WrittenSettings): Settings {
  const input: { [name: string]: unknown } = {};
  const faults: InputFault[] = [];
  const told = new Set<Term | undefined>();
  for (const term of TERMS) {
    const given = written.get(term.name);
    if (given === undefined) continue;
    const read = term.read(given.text);
    if (isRefusal(read)) {
      faults.push({ ...placeOf(term, given), fault: `is "${given.text}"`, mend: read.mend });
      told.add(term);
      for (const name of term.sets) input[name] = Number.NaN;
    } else Object.assign(input, read);
  }
  const verdict = validateSettings(input as unknown as SettingsInput);
  if (verdict.ok) return verdict.settings;
  for (const fault of verdict.faults) {
    const term = termOf(fault.setting);
    // A ratio has two halves that miss together; what could not be read has been told already.
    if (term === undefined || told.has(term)) continue;
    if (!written.has(term.name) && told.has(termNamed(MADE_FROM[term.name]))) continue;
    told.add(term);
    faults.push({ ...placeOf(term, written.get(term.name)), ...inUserTerms(fault, term, written) });
  }
  throw new InputError(faults);
}

/** What settings are in force, by the names and in the units of a settings file. */
export function showSettings(settings: Settings): { [name: string]: string | number } {
  return Object.fromEntries(TERMS.map((term) => [term.name, term.show(settings)]));
}

function termOf(setting: string): Term | undefined {
  return TERMS.find(({ sets }) => (sets as readonly string[]).includes(setting));
}

function termNamed(name: string | undefined): Term | undefined {
  return TERMS.find((term) => term.name === name);
}

// Defaults that are made from another setting: where that one is at fault, they have no fault of their own.
const MADE_FROM: { readonly [name: string]: string | undefined } = {
  "prime-rate": "cap",
  "guard-burst": "guard",
};

function placeOf(term: Term, given: Written | undefined): Pick<InputFault, "file" | "line" | "field"> {
  const inFile = given?.file !== undefined;
  return { file: given?.file, line: given?.line, field: inFile ? `"${term.name}"` : `--${term.name}` };
}

function inUserTerms(
  { setting, fault, mend }: SettingsFault,
  term: Term,
  written: WrittenSettings,
): Pick<InputFault, "fault" | "mend"> {
  if (fault === "is missing") {
    return { fault, mend: `give it, such as --${term.name} ${term.example}` };
  }
  if (term.name === "prime-rate" || term.name === "cap") return rateFault(fault, mend, term, written);
  const inUnits = (text: string): string => (setting.endsWith("Micros") ? durationsIn(text) : text);
  return { fault: namesIn(inUnits(fault)), mend: namesIn(inUnits(mend)) };
}

// A spacing that is too short is a rate that is too high: the core's words would point the wrong way.
function rateFault(
  fault: string,
  mend: string,
  term: Term,
  written: WrittenSettings,
): Pick<InputFault, "fault" | "mend"> {
  const text = written.get(term.name)?.text ?? "";
  if (!fault.includes("cap allows")) {
    return {
      fault: `is ${text} strokes a minute`,
      mend: "give one stroke an hour (0.016667) to 60000000 a minute",
    };
  }
  const spacing = Number(/\d+/.exec(mend)?.[0]);
  return {
    fault: `is ${text}, more than the cap allows`,
    mend: `give at most ${rateOf(spacing)}, or a higher cap`,
  };
}

/** The core's microseconds, as durations. */
function durationsIn(text: string): string {
  return text
    .replace("a whole number of µs", "a duration")
    .replace(/\d+(?! (strokes|contacts))\b/g, (digits) => formatDuration(Number(digits)));
}

/** The core's names, as the user's. */
function namesIn(text: string): string {
  return text.replace("a shorter leastSpacingMicros", "a higher cap");
}
