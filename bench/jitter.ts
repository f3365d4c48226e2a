/**
 * `npm run jitter [-- --seed N]`: how late are the strokes of a live feed, and does any come too close to the one before?
 *
 * Bench. `drive` between stand-ins for meter and pump, processes on a pseudo-terminal. Ideal is the pacer in virtual time
 * on the moments at which the meter counted; late is what passes from there to the moment at which the pump made the
 * stroke: both by one clock, taken where it happened, so that reading, journal, timer and line are all in it. Lateness
 * is told and no gate; the exit status is 1 where strokes were too close or their number was wrong.
 */
import { spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { setTimeout as sleep } from "node:timers/promises";
import { onExit } from "signal-exit";
import { randomFrom } from "../harness/stimuli/random.js";
import {
  type Micros,
  newState,
  type Settings,
  type StrokeMade as Made,
  stepInPlace,
  validateSettings,
  wakeUntil,
} from "../lib/pacing/index.js";
import { openPtyPair, PLANT } from "../tests/bench-devices/pty-pair.js";
import { startLoad } from "./load.js";
import { optionsOf } from "./options.js";
import { strokesIn } from "./soak-run.js";
import { leastApart, type StrokeMade } from "./soak-verdict.js";

const MAIN = fileURLToPath(new URL("../dist/harness/cli/main.js", import.meta.url));
const RATIO = { strokes: 3, contacts: 2 };
const CAP = 900;
/** The feed is up by then: every contact is heard as it comes. */
const QUIET_SECONDS = 6;
/** Longest from the last contact on until all that is owed has been made: less than the still-water grace. */
const AFTER_SECONDS = 60;
const LOOK_MILLIS = 50;
const MICROS = 1_000_000;
const MILLI = 1_000;

interface Flow {
  readonly name: string;
  readonly isLoaded: boolean;
  readonly contacts: number;
  /** Between two contacts, in seconds, anything between these. */
  readonly shortest: number;
  readonly longest: number;
}

const FLOWS: readonly Flow[] = [
  { name: "idle", isLoaded: false, contacts: 160, shortest: 0.15, longest: 0.4 },
  { name: "every processor busy", isLoaded: true, contacts: 160, shortest: 0.15, longest: 0.4 },
  { name: "busy, and at the cap", isLoaded: true, contacts: 100, shortest: 0.09, longest: 0.09 },
];

const values = optionsOf({ seed: "1" }, "npm run jitter -- --seed 1");
const seed = Number(values.seed);
if (!Number.isInteger(seed) || seed < 0) {
  console.error(`--seed is "${values.seed}". Mend: give a whole number from 0.`);
  process.exit(2);
}
const settings = settingsOf();
console.log(
  `Seed ${seed}. Strokes of a live feed against the ideal, over a pseudo-terminal; least spacing ` +
    `${settings.leastSpacingMicros} µs, a journal flushed to the disk before every stroke.\n`,
);
console.log(row("", ["strokes", "median", "99th", "worst", "earliest", "closest"]));
for (const flow of FLOWS) console.log(await measured(flow));
console.log(
  "\nIn ms. Closest is the least time between two strokes at the pump. A stroke keeps its spacing from the moment at\n" +
    "which the pump told of the one before: at the cap that adds up. Early are strokes whose contact was told late,\n" +
    "so that the interval after it seemed shorter.",
);

async function measured(flow: Flow): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-jitter-"));
  const load = flow.isLoaded ? startLoad() : undefined;
  try {
    const { contacts, strokes } = await runFeed(flow, folder);
    const ideal = idealStrokes(contacts);
    if (contacts.length !== flow.contacts || ideal.length !== strokes.length) {
      process.exitCode = 1;
      return `${flow.name}: BROKEN: ${contacts.length} contacts, ${strokes.length} strokes, ${ideal.length} in the ideal`;
    }
    const late = strokes.map(({ atMicros }, i) => atMicros - (ideal[i] ?? NaN)).sort((a, b) => a - b);
    const at = (share: number): string => millis(late[Math.ceil(share * late.length) - 1]);
    const closest = leastApart(strokes) ?? Infinity;
    const isBroken = closest < settings.leastSpacingMicros;
    if (isBroken) process.exitCode = 1;
    const figures = [String(strokes.length), at(0.5), at(0.99), at(1), millis(late[0]), millis(closest)];
    return row(flow.name, figures) + (isBroken ? "  BROKEN: closer than the least spacing" : "");
  } finally {
    load?.stop();
    rmSync(folder, { recursive: true });
  }
}

async function runFeed(flow: Flow, folder: string): Promise<{ contacts: Micros[]; strokes: StrokeMade[] }> {
  const file = (name: string): string => join(folder, name);
  const times = contactTimes(flow);
  const strokes = (): StrokeMade[] => strokesIn(readFileSync(file("strokes.csv"), "latin1"));
  writeFileSync(file("script.csv"), ["time_s", ...times.map((time) => time.toFixed(6)), ""].join("\n"));
  writeFileSync(file("strokes.csv"), ""); // it is read before the pump may have begun it
  const plant = openPtyPair(PLANT, [
    ...["--script", file("script.csv"), "--strokes", file("strokes.csv"), "--contacts", file("contacts.csv")],
  ]);
  try {
    const spec = `serial:${plant.path}`;
    const drive = spawn(
      process.execPath,
      [MAIN, "drive", "--meter", spec, "--pump", spec, "--journal", file("journal"), "--plain"].concat(
        ["--ratio", `${RATIO.strokes}:${RATIO.contacts}`, "--cap", String(CAP)],
        // All that is owed at the cap stays owed, or the numbers of strokes would not compare.
        ["--owed-limit", String(settings.owedLimitStrokes)],
      ),
      { stdio: ["ignore", "ignore", "inherit"] },
    );
    const forget = onExit(() => void drive.kill("SIGKILL"));
    const ended = new Promise<number | null>((resolve) => drive.once("exit", resolve));
    const wanted = Math.floor((flow.contacts * RATIO.strokes) / RATIO.contacts);
    const untilMillis = performance.now() + ((times.at(-1) ?? 0) + AFTER_SECONDS) * 1_000;
    do await sleep(LOOK_MILLIS);
    while (drive.exitCode === null && performance.now() < untilMillis && strokes().length < wanted);
    drive.kill("SIGTERM");
    await ended;
    forget();
    return {
      contacts: strokesIn(readFileSync(file("contacts.csv"), "latin1")).map(({ atMicros }) => atMicros),
      strokes: strokes(),
    };
  } finally {
    await plant.unplug();
  }
}

function contactTimes({ contacts, shortest, longest }: Flow): number[] {
  const random = randomFrom(seed);
  let time = QUIET_SECONDS;
  return Array.from({ length: contacts }, () => (time += shortest + random() * (longest - shortest)));
}

/** When the pacer would make them if nothing took any time. */
function idealStrokes(contacts: readonly Micros[]): Micros[] {
  const strokes: Micros[] = [];
  const state = newState(settings, contacts[0] ?? 0);
  const note = (atMicros: Micros, made: Made): void => {
    if (made !== "none") strokes.push(atMicros);
  };
  const wake = (untilMicros: Micros): void => {
    wakeUntil(state, untilMicros, ({ nowMicros }, made) => {
      note(nowMicros, made);
    });
  };
  for (const atMicros of contacts) {
    wake(atMicros);
    note(atMicros, stepInPlace(state, { kind: "contact", atMicros }));
  }
  wake((contacts.at(-1) ?? 0) + AFTER_SECONDS * MICROS);
  return strokes;
}

function settingsOf(): Settings {
  const verdict = validateSettings({
    ...RATIO,
    leastSpacingMicros: Math.ceil((60 * MICROS) / CAP),
    owedLimitStrokes: 1_000,
  });
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  return verdict.settings;
}

function millis(micros: number | undefined): string {
  return micros === undefined ? "none" : (micros / MILLI).toFixed(2);
}

function row(name: string, cells: readonly string[]): string {
  return `${name.padEnd(22)}${cells.map((cell) => cell.padStart(10)).join("")}`;
}
