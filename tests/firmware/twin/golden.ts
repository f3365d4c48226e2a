/**
 * What do the golden vectors say? A reader that knows their text alone, as a port has to. Test support.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import {
  type State,
  validateSettings,
  type Settings,
  type SettingsInput,
} from "../../../lib/pacing/index.js";
import { isStimulus, type StimulusEvent, type ResponseEvent, readHeader } from "../../../lib/trace/index.js";
import { VECTORS_FOLDER } from "../../../harness/firmware/vectors/write.js";

/** One step: what went in, what came of it, and the record after it. */
export interface GoldenStep {
  readonly input: StimulusEvent;
  readonly responses: readonly ResponseEvent[];
  readonly record: Readonly<State>;
  /** What was kept at a power-off, in hexadecimal. */
  readonly snapshot: string | undefined;
}

export interface Golden {
  readonly laws: readonly string[];
  readonly isLate: boolean;
  readonly startMicros: number;
  readonly settings: Settings;
  /** The record before the first step. */
  readonly first: Readonly<State>;
  readonly steps: readonly GoldenStep[];
}

const WORDS: { readonly [word: string]: number } = {
  "no-wake": Number.MAX_SAFE_INTEGER,
  "long-ago": -(2 ** 51),
};

/** Reads a vector. Throws where it is not one. */
export function readGolden(name: string): Golden {
  const lines = readFileSync(join(VECTORS_FOLDER, name), "utf8").trimEnd().split("\n");
  const comment = (word: string): string =>
    lines.find((line) => line.startsWith(`# ${word} `))?.slice(word.length + 3) ?? "";
  const settings = settingsIn(comment("settings"));
  const header = lines.findIndex((line) => !line.startsWith("#"));
  const columns = readHeader((lines[header] as string).split(","), header + 1, name);
  if (!columns.ok) throw new Error(columns.fault.fault);

  let record = { settings, raised: 0, cleared: 0 } as unknown as State;
  let snapshot: string | undefined;
  let rows: (StimulusEvent | ResponseEvent)[] = [];
  const steps: GoldenStep[] = [];
  let first: State | undefined;
  lines.slice(header + 1).forEach((line, i) => {
    if (!line.startsWith("#=")) {
      const row = columns.rows.read(line.split(","), header + 2 + i);
      if (!row.ok) throw new Error(`${name}: ${row.fault.fault}`);
      rows.push(row.event);
      return;
    }
    const words = line
      .split(" ")
      .slice(1)
      .map((word) => word.split("=") as [string, string]);
    snapshot = words.find(([field]) => field === "snapshot")?.[1];
    const changes = words.filter(([field]) => field !== "snapshot");
    record = {
      ...record,
      ...Object.fromEntries(changes.map(([field, value]) => [field, WORDS[value] ?? Number(value)])),
    };
    const [input, ...responses] = rows;
    if (input === undefined) first = record;
    else if (isStimulus(input)) {
      if (input.kind === "settings" && !responses.some(({ kind }) => kind === "refused"))
        record = { ...record, settings: input.settings };
      steps.push({ input, responses: responses as ResponseEvent[], record, snapshot });
    } else throw new Error(`${name}: a step begins with ${input.kind}`);
    rows = [];
  });
  return {
    laws: comment("laws").split(" "),
    isLate: comment("wake-ups come") !== "",
    startMicros: Number(comment("start").replace(".", "")),
    settings,
    first: first as State,
    steps,
  };
}

/** Settings as a detail names them, checked by the core. */
export function settingsIn(detail: string): Settings {
  const verdict = validateSettings(inputIn(detail));
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  return verdict.settings;
}

export function inputIn(detail: string): SettingsInput {
  const pairs = detail.split(" ").map((word) => word.split("=") as [string, string]);
  return Object.fromEntries(
    pairs.map(([name, value]) => [name, /^\d+$/.test(value) ? Number(value) : value]),
  ) as unknown as SettingsInput;
}
