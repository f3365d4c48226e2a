/**
 * `npm run gallery`: every mistake against every law, as a table. Exit status 1 if one is missed, misnamed or not made
 * short, or if a correct controller is blamed.
 */
import { eventsOf } from "../../harness/stimuli/passage.js";
import type { Counterexample } from "../../harness/verify/report.js";
import { amissWith, type Catch, catchMistake, othersOf, wordsFor } from "./catch.js";
import { CORRECT, falseAlarms } from "./false-alarms.js";
import { GALLERY } from "./gallery.js";

const RUNS = 100;
const CORRECT_RUNS = 2_000;
const SEED = 1;

const COLUMNS = [42, 12, 28, 20, 8];

function row(...cells: string[]): string {
  return cells
    .map((cell, i) => cell.padEnd(COLUMNS[i] ?? 0))
    .join(" ")
    .trimEnd();
}

/** All events before and after shrinking; and how many they are if a run of even contacts counts as one. */
function lengthsOf({ before, stimulus }: Counterexample): string {
  const [all, left] = [before, stimulus].map(({ passages }) => eventsOf(passages).length);
  return `${all} -> ${left} as ${stimulus.passages.length}`;
}

function tell(found: Catch): void {
  const { mistake, counterexample, millis } = found;
  const amiss = amissWith(found);
  const others = othersOf(found);
  const law = found.broken.includes(mistake.law) ? mistake.law : "-";
  const from =
    counterexample?.from === "generated" ? `generated, seed ${SEED}` : (counterexample?.from ?? "-");
  console.log(
    row(
      mistake.name,
      law,
      from,
      counterexample ? lengthsOf(counterexample) : "-",
      `${(millis / 1_000).toFixed(1)} s`,
    ),
  );
  console.log(`    it ${mistake.does}`);
  if (counterexample !== undefined) console.log(`    shown by: ${wordsFor(counterexample)}`);
  if (others.length > 0) console.log(`    broken with it: ${others.join(", ")}`);
  if (amiss !== undefined) console.log(`    AMISS: ${amiss}`);
}

async function main(): Promise<boolean> {
  console.log(row("mistake", "law", "shown by", "events", "time"));
  let amiss = 0;
  let longest = 0;
  for (const mistake of GALLERY) {
    const found = await catchMistake(mistake, { runs: RUNS, seed: SEED, long: true });
    tell(found);
    if (amissWith(found) !== undefined) amiss += 1;
    longest = Math.max(longest, found.counterexample?.stimulus.passages.length ?? 0);
  }
  let alarms = 0;
  for (const { name, start } of CORRECT) {
    const startMillis = performance.now();
    const found = await falseAlarms(start, CORRECT_RUNS, SEED);
    const seconds = ((performance.now() - startMillis) / 1_000).toFixed(1);
    console.log(
      `${name}: at least ${CORRECT_RUNS} generated runs, ${found.length} false alarms, ${seconds} s`,
    );
    for (const alarm of found) console.log(`    AMISS: ${alarm}`);
    alarms += found.length;
  }
  const caught = GALLERY.length - amiss;
  console.log(
    `${GALLERY.length} mistakes, ${caught} caught by their law; the longest counterexample has ${longest} events; ${alarms} false alarms`,
  );
  return amiss === 0 && alarms === 0;
}

process.exitCode = (await main()) ? 0 : 1;
