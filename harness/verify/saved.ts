/**
 * How is a counterexample kept, so that it can be played again? As a trace file with what it needs in comments.
 *
 * Harness layer. `simulate` reads it as any log; `verify --replay` also takes settings, way, clock and end from it.
 */
import { readFileSync } from "node:fs";
import { formatRow, formatSeconds, parseSeconds, readHeader, TRACE_HEADER } from "../../lib/trace/index.js";
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { InputError } from "../files/fault.js";
import { createRowFile } from "../files/row-file.js";
import { openStimulus } from "../files/stimulus.js";
import { eventsOf, lastMicrosOf, passagesOf, type Stimulus, untilOf } from "../stimuli/passage.js";
import { settlingMicros } from "../stimuli/scenario.js";
import type { Counterexample } from "./report.js";
import { type Way, WAYS } from "./trial.js";

export interface Saved {
  readonly events: readonly StimulusEvent[];
  /** Those that it was found with; undefined for a log that is no counterexample. */
  readonly settings: Settings | undefined;
  readonly way: Way | undefined;
  readonly startMicros: Micros | undefined;
  readonly untilMicros: Micros | undefined;
}

/** Writes the file; throws an InputError if it cannot be written. The last row is the end of the run. */
export function saveCounterexample(path: string, found: Counterexample): void {
  const { law, from, settings, stimulus, way, brokenAtMicros, evidence } = found;
  const end = stimulus.startMicros === undefined ? [] : [`# clock ${formatSeconds(stimulus.startMicros)}`];
  const head = [
    `# A device broke the law ${law} at ${formatSeconds(brokenAtMicros)} s: ${evidence.replace(/\s+/g, " ")}`,
    `# Made from ${from}. Play it again: tallystroke verify --device SPEC --replay FILE`,
    `# played ${way}`,
    ...end,
    `# settings ${detailOfSettings(settings)}`,
    TRACE_HEADER,
  ];
  const file = createRowFile(path, head.join("\n"));
  try {
    for (const event of eventsOf(stimulus.passages)) file.line(formatRow(event));
    file.line(formatRow({ kind: "wake", atMicros: untilOf(stimulus) }));
    file.keep();
  } finally {
    file.discard();
  }
}

/** Reads a saved counterexample, or any log. Throws an InputError for a fault in it. */
export async function readSaved(path: string): Promise<Saved> {
  if (path === "-") {
    throw new InputError([{ field: "--replay", fault: "is -", mend: "name a file" }]);
  }
  const events = await eventsIn(path);
  const lines = readFileSync(path, "utf8").trimEnd().split("\n");
  const comment = (name: string): string | undefined =>
    lines.find((line) => line.startsWith(`# ${name} `))?.slice(name.length + 3);
  const [lastTime = "", lastEvent] = lines.at(-1)?.split(",") ?? [];
  const clock = comment("clock");
  const way = comment("played");
  return {
    events,
    settings: settingsIn(comment("settings"), path),
    way: WAYS.find((known) => known === way),
    startMicros: clock === undefined ? undefined : parseSeconds(clock),
    untilMicros: lastEvent === "wake" ? parseSeconds(lastTime) : undefined,
  };
}

/** The stimulus of a saved file; a log without an end goes on until nothing can be owed any more. */
export function stimulusOf({ events, startMicros, untilMicros }: Saved, settings: Settings): Stimulus {
  const passages = passagesOf(events);
  const tailMicros =
    untilMicros === undefined ? settlingMicros(settings) : untilMicros - lastMicrosOf(passages);
  return { passages, tailMicros, ...(startMicros === undefined ? {} : { startMicros }) };
}

/** All events of a log. Throws an InputError for a fault in it. */
export async function eventsIn(path: string): Promise<StimulusEvent[]> {
  const events: StimulusEvent[] = [];
  for await (const batch of openStimulus(path).events()) events.push(...batch);
  return events;
}

function detailOfSettings(settings: Settings): string {
  return formatRow({ kind: "settings", atMicros: 0, settings, confirmed: true }).split(",")[2] ?? "";
}

function settingsIn(detail: string | undefined, file: string): Settings | undefined {
  if (detail === undefined) return undefined;
  const header = readHeader(TRACE_HEADER.split(","), 1, file);
  const read = header.ok ? header.rows.read(["0", "settings", detail], 1) : header;
  if (read.ok && read.event.kind === "settings") return read.event.settings;
  const { fault, mend } = read.ok ? { fault: "cannot be read", mend: "save it anew" } : read.fault;
  throw new InputError([{ file, field: "# settings", fault, mend }]);
}
