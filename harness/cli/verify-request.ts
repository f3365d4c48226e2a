/**
 * What was `verify` asked to do? From the words of the command line to a request, every fault named. Harness layer.
 */
import type { Command } from "commander";
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { DeviceAbout } from "../device.js";
import { InputError, type InputFault } from "../files/fault.js";
import { shipped } from "../files/package-root.js";
import { isRefusal, readDuration } from "../files/quantity.js";
import { settingsFrom, showSettings, type Written } from "../files/settings.js";
import { DEMO_FILE } from "../stimuli/creamery.js";
import { type PlanRequest, SCENARIO_NAMES } from "../verify/plan.js";
import { eventsIn, readSaved, type Saved, stimulusOf } from "../verify/saved.js";
import { writtenSettings } from "./settings-options.js";

export interface VerifyWords {
  readonly device: string;
  readonly scenario?: readonly string[];
  readonly log?: string;
  readonly runs?: string;
  readonly seed?: string;
  readonly tolerance?: string;
  readonly quick?: true;
  readonly replay?: string;
  readonly save?: string;
  readonly report?: string;
  readonly figures?: string;
  readonly junit?: string;
  readonly json?: true;
  readonly list?: true;
}

export interface VerifyRequest {
  readonly settings: Settings;
  readonly toleranceMicros: Micros | undefined;
  readonly seed: number;
  /** What is to be played, once it is known on which device. */
  plan(about: DeviceAbout): Promise<PlanRequest>;
}

const RUNS_MOST = 1_000_000;
const SEED_MOST = 2_147_483_647;
/** For `--list` without settings. */
const EXAMPLE_SETTINGS = [
  ["ratio", "2:1"],
  ["cap", "120"],
] as const;

/** Throws an InputError with what is wrong. */
export async function readRequest(words: VerifyWords, command: Command): Promise<VerifyRequest> {
  const faults: InputFault[] = [];
  const whole = (name: "runs" | "seed", least: number, most: number): number | undefined => {
    const text = words[name];
    if (text === undefined) return undefined;
    const value = /^\d{1,10}$/.test(text) ? Number(text) : Number.NaN;
    if (value >= least && value <= most) return value;
    faults.push({
      field: `--${name}`,
      fault: `is "${text}"`,
      mend: `give a whole number from ${least} to ${most}`,
    });
    return undefined;
  };
  const runs = whole("runs", 0, RUNS_MOST);
  const seed = whole("seed", 1, SEED_MOST) ?? 1;
  const toleranceMicros = toleranceOf(words, faults);
  faults.push(...unknownScenarios(words), ...clashes(words));
  if (faults.length > 0) throw new InputError(faults);
  const saved = words.replay === undefined ? undefined : await readSaved(words.replay);
  const settings = settingsFor(words, command, saved);
  return {
    settings,
    seed,
    toleranceMicros,
    plan: async (about) => ({
      seed,
      ...(runs === undefined ? {} : { runs }),
      ...(words.scenario === undefined ? {} : { scenarios: words.scenario }),
      ...(words.quick === undefined ? {} : { quick: true }),
      ...(saved === undefined
        ? await logFor(words, about)
        : { replay: { name: words.replay ?? "", stimulus: stimulusOf(saved, settings), way: saved.way } }),
    }),
  };
}

function toleranceOf({ tolerance }: VerifyWords, faults: InputFault[]): Micros | undefined {
  if (tolerance === undefined) return undefined;
  const read = readDuration(tolerance);
  if (!isRefusal(read)) return read;
  faults.push({ field: "--tolerance", fault: `is "${tolerance}"`, mend: read.mend });
  return undefined;
}

function unknownScenarios({ scenario = [] }: VerifyWords): InputFault[] {
  const names = SCENARIO_NAMES.map(({ name }) => name);
  return scenario
    .filter((name) => !names.includes(name))
    .map((name) => ({
      field: "--scenario",
      fault: `"${name}" is none`,
      mend: `give one of ${names.join(", ")}`,
    }));
}

/** What a replay leaves no room for; and a log that would not be played. */
function clashes({ replay, scenario, log, runs, save }: VerifyWords): InputFault[] {
  const faults: InputFault[] = [];
  const others = { scenario, log, runs };
  for (const [name, value] of Object.entries(others)) {
    if (replay !== undefined && value !== undefined) {
      faults.push({
        field: `--${name}`,
        fault: "is given beside --replay",
        mend: "a replay plays its file and nothing else",
      });
    }
  }
  if (log !== undefined && scenario !== undefined && !scenario.includes("recorded-log")) {
    faults.push({ field: "--log", fault: "would not be played", mend: "add --scenario recorded-log" });
  }
  if (replay !== undefined && replay === save) {
    faults.push({ field: "--save", fault: "is the file of --replay", mend: "name another file" });
  }
  return faults;
}

function settingsFor(words: VerifyWords, command: Command, saved: Saved | undefined): Settings {
  const written: Map<string, Written> = writtenSettings(command);
  const base: [string, string | number][] = saved?.settings
    ? Object.entries(showSettings(saved.settings))
    : words.list === true
      ? [...EXAMPLE_SETTINGS].map(([name, text]) => [name, text])
      : [];
  if (saved?.settings && written.size === 0) return saved.settings;
  for (const [name, value] of base) if (!written.has(name)) written.set(name, { text: String(value) });
  return settingsFrom(written);
}

async function logFor(
  { log, scenario, list }: VerifyWords,
  about: DeviceAbout,
): Promise<Pick<PlanRequest, "log">> {
  if (scenario !== undefined && !scenario.includes("recorded-log")) return {};
  if (log !== undefined) return { log: { name: log, events: await eventsIn(log), isGiven: true } };
  if (about.clock === "real" && scenario === undefined && list !== true) return {};
  return { log: { name: DEMO_FILE, events: await eventsIn(shipped(DEMO_FILE)), isGiven: false } };
}
