/**
 * What is left of a feed that is killed over and over? Meter, pump, load, kills, and the evidence of it all. Bench.
 *
 * `drive` runs as a process of its own between stand-ins for meter and pump, each a process on a pseudo-terminal, or one
 * that is both. They go on while it is dead, and write down what they counted and did. All chance comes of one seed.
 */
import { type ChildProcess, spawn } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { onExit } from "signal-exit";
import { readJournal } from "../harness/journal/reading.js";
import { randomFrom } from "../harness/stimuli/random.js";
import { judgeTrace } from "../lib/laws/index.js";
import { type Settings, validateSettings } from "../lib/pacing/index.js";
import { openPtyPair, PLANT, type PtyDevice } from "../tests/bench-devices/pty-pair.js";
import type { Evidence, StrokeMade } from "./soak-verdict.js";

export interface SoakOptions {
  /** How `drive` is run: program and arguments up to the verb. */
  readonly command: readonly string[];
  /** A new folder for the journal and for what meter and pump write. */
  readonly folder: string;
  readonly seed: number;
  readonly kills: number;
  /** A meter and a pump, or one device that is both. */
  readonly devices: 1 | 2;
  readonly onKill?: (kills: number) => void;
}

/** The soak cannot go on: what it would show nobody knows. */
export class SoakError extends Error {
  override readonly name = "SoakError";
}

const RATIO = "3:2";
const CAP = 900;
/** What passes while it is dead is fed after it, most of it: a feed that comes back strokes at the cap. */
const OWED_LIMIT = 60;
/** At most ten strokes a second are asked for: many moments for a kill, and never quite at the cap. */
const CONTACTS_PER_MINUTE = 400;
/** Longest that a feed may take from its start to its first stroke, and to its end, in ms. */
const PATIENCE_MILLIS = 60_000;
const LOOK_MILLIS = 2;
/** Longest from a stroke to the kill, in ms: some ten strokes. */
const AFTER_STROKE_MILLIS = 1_200;
/** Of all kills, those that fall into the start, and those that follow a stroke at once. */
const SHARE_IN_START = 0.2;
const SHARE_AT_ONCE = 0.3;
/** How long the last feed has to make what is still owed, in words that `--for` takes. */
const LAST = "4 s";

/** Runs it all; leaves no process behind. */
export async function runSoak(options: SoakOptions): Promise<Evidence> {
  mkdirSync(options.folder, { recursive: true });
  const plant = openPlant(options);
  try {
    // A first feed, so that the journal begins before any water passes.
    await ended(feed(options, plant, ["--for", "1 s"]));
    await plant.flow(CONTACTS_PER_MINUTE);
    await killOften(options, plant);
    await plant.flow(0);
    await ended(feed(options, plant, ["--for", LAST]));
    return evidenceOf(options, plant);
  } finally {
    await plant.close();
  }
}

interface Plant {
  readonly meter: string;
  readonly pump: string;
  /** Bytes that the pump has written of its strokes. */
  strokesFile(): string;
  register(): number;
  /** The meter begins anew with its register, and with another flow. */
  flow(contactsPerMinute: number): Promise<void>;
  close(): Promise<void>;
}

function openPlant({ folder, devices }: SoakOptions): Plant {
  const file = (name: string): string => join(folder, name);
  const strokes = ["--strokes", file("strokes.csv")];
  const memory = ["--memory", file("memory")];
  const opened: PtyDevice[] = [];
  const open = (args: readonly string[]): PtyDevice => {
    const device = openPtyPair(PLANT, args);
    opened.push(device);
    return device;
  };
  const meterArgs = ["--has", devices === 1 ? "both" : "meter", ...memory, ...(devices === 1 ? strokes : [])];
  const meter = open(meterArgs);
  const pump = devices === 1 ? meter : open(["--has", "pump", ...strokes]);
  return {
    meter: `serial:${meter.path}`,
    pump: `serial:${pump.path}`,
    strokesFile: () => readFileSync(file("strokes.csv"), "latin1"),
    register: () => Number(readFileSync(file("memory"), "latin1").trim().split(/ +/)[0]),
    flow: (contactsPerMinute) => meter.restart([...meterArgs, "--flow", String(contactsPerMinute)]),
    async close() {
      for (const device of opened) await device.unplug();
    },
  };
}

interface Running {
  readonly child: ChildProcess;
  readonly ended: Promise<{ readonly code: number | null; readonly signal: NodeJS.Signals | null }>;
  /** What it said on standard error. */
  said(): string;
}

function feed(
  { command, folder }: SoakOptions,
  { meter, pump }: Plant,
  more: readonly string[] = [],
): Running {
  const [program = "", ...args] = command;
  const child = spawn(
    program,
    [...args, "drive", "--meter", meter, "--pump", pump, "--journal", join(folder, "journal")].concat(
      ["--ratio", RATIO, "--cap", String(CAP), "--owed-limit", String(OWED_LIMIT), "--plain"],
      more,
    ),
    { stdio: ["ignore", "ignore", "pipe"] },
  );
  // Nobody else would end it: left alone with meter and pump, it feeds for ever.
  const forget = onExit(() => void child.kill("SIGKILL"));
  let said = "";
  child.stderr.setEncoding("utf8").on("data", (text: string) => (said = (said + text).slice(-2_000)));
  return {
    child,
    ended: new Promise((resolve, reject) => {
      child.once("error", reject);
      child.once("exit", (code, signal) => {
        forget();
        resolve({ code, signal });
      });
    }),
    said: () => said,
  };
}

/** Waits for a feed that ends by itself. */
async function ended(running: Running): Promise<void> {
  const late = setTimeout(() => running.child.kill("SIGKILL"), PATIENCE_MILLIS);
  const { code } = await running.ended;
  clearTimeout(late);
  if (code !== 0)
    throw new SoakError(`A feed that was not killed ended with ${String(code)}: ${running.said()}`);
}

async function killOften(options: SoakOptions, plant: Plant): Promise<void> {
  const random = randomFrom(options.seed);
  let startMillis = AFTER_STROKE_MILLIS;
  for (let kills = 1; kills <= options.kills; kills++) {
    const before = plant.strokesFile().length;
    const startedMillis = performance.now();
    const running = feed(options, plant);
    const share = random();
    if (share < SHARE_IN_START) await sleep(random() * startMillis);
    else {
      while (plant.strokesFile().length === before) {
        const { exitCode, signalCode } = running.child;
        if (exitCode !== null || signalCode !== null || performance.now() - startedMillis > PATIENCE_MILLIS) {
          running.child.kill("SIGKILL");
          throw new SoakError(`No stroke after kill ${kills - 1}: ${running.said()}`);
        }
        await sleep(LOOK_MILLIS);
      }
      startMillis = performance.now() - startedMillis;
      if (share > SHARE_IN_START + SHARE_AT_ONCE) await sleep(random() * AFTER_STROKE_MILLIS);
    }
    running.child.kill("SIGKILL");
    const { code, signal } = await running.ended;
    if (signal !== "SIGKILL") throw new SoakError(`Ended with ${String(code)} by itself: ${running.said()}`);
    options.onKill?.(kills);
  }
}

function evidenceOf({ folder, kills }: SoakOptions, plant: Plant): Evidence {
  const settings = settingsOf();
  const journal = readJournal(join(folder, "journal"));
  try {
    const tallies = journal.tallies();
    if (tallies === undefined) throw new SoakError("The journal has no step.");
    const judgement = judgeTrace(settings, { startRemainder: 0 });
    for (const { event } of journal.events()) judgement.see(event);
    return {
      settings,
      kills,
      register: plant.register(),
      made: strokesIn(plant.strokesFile()),
      tallies,
      strokes: [...journal.strokes()],
      verdicts: judgement.verdicts(),
    };
  } finally {
    journal.close();
  }
}

/** As `drive` has them from the options of {@link feed}. */
function settingsOf(): Settings {
  const [strokes, contacts] = RATIO.split(":").map(Number) as [number, number];
  const verdict = validateSettings({
    strokes,
    contacts,
    leastSpacingMicros: Math.ceil(60e6 / CAP),
    owedLimitStrokes: OWED_LIMIT,
  });
  if (!verdict.ok) throw new SoakError(JSON.stringify(verdict.faults));
  return verdict.settings;
}

/** The pump's own list, header and a row cut short left out. */
export function strokesIn(text: string): StrokeMade[] {
  return text
    .split("\n")
    .slice(1, -1)
    .map((row) => {
      const [number, atMicros] = row.split(",").map(Number) as [number, number];
      return { number, atMicros };
    });
}
