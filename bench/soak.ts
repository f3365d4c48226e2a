/**
 * `npm run soak [-- --kills N --seed N]`: does a feed that is killed at any moment lose a contact or make a stroke twice?
 *
 * Bench. Two soaks under load, half of the kills each: with a meter and a pump, and with one device that is both. Exit
 * status 0 where all holds, 1 where something is broken, 2 for bad options, 3 where it could not be told.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { startLoad } from "./load.js";
import { optionsOf } from "./options.js";
import { runSoak, SoakError } from "./soak-run.js";
import { checkSoak, type Evidence, leastApart } from "./soak-verdict.js";

const KILLS = 200;
const EVERY_KILLS = 25;
const MAIN = fileURLToPath(new URL("../dist/harness/cli/main.js", import.meta.url));

const given = optionsOf(
  { kills: String(KILLS), seed: String(Date.now() % 1_000_000) },
  "npm run soak -- --kills 20 --seed 1",
);
const kills = Number(given.kills);
const seed = Number(given.seed);
if (!Number.isInteger(kills) || kills < 2 || !Number.isInteger(seed) || seed < 0) {
  console.error("--kills and --seed are whole numbers. Mend: give 2 kills or more, and any seed from 0.");
  process.exit(2);
}
console.log(`Seed ${seed}. ${kills} kills; replay the moments with --kills ${kills} --seed ${seed}.`);

const load = startLoad();
const folder = mkdtempSync(join(tmpdir(), "tallystroke-soak-"));
try {
  const halves = [
    { devices: 2, kills: Math.ceil(kills / 2), seed },
    { devices: 1, kills: Math.floor(kills / 2), seed: seed + 1 },
  ] as const;
  for (const half of halves) {
    const evidence = await runSoak({
      ...half,
      command: [process.execPath, MAIN],
      folder: join(folder, String(half.devices)),
      onKill: (count) => {
        if (count % EVERY_KILLS === 0) console.error(`  ${count} of ${half.kills} kills`);
      },
    });
    tell(half.devices, evidence);
  }
  if (process.exitCode === undefined) rmSync(folder, { recursive: true });
  else console.log(`What is left of it: ${folder}`);
} catch (error) {
  if (!(error instanceof SoakError)) throw error;
  console.error(`Cannot tell: ${error.message}\nWhat is left of it: ${folder}`);
  process.exitCode = 3;
} finally {
  load.stop();
}

function tell(devices: 1 | 2, evidence: Evidence): void {
  const { kills: times, register, made, tallies, strokes, settings } = evidence;
  const count = (outcome: string): number => strokes.filter((stroke) => stroke.outcome === outcome).length;
  const shed = Object.values(tallies.shed).reduce((sum, each) => sum + each, 0);
  console.log(
    `\n${devices === 2 ? "A meter and a pump" : "One device that is both"}, ${load.processes} processes of load: ` +
      `${times} kills, ${register} contacts, ${made.length} strokes made, ${shed} shed\n` +
      `  ${count("unmade")} strokes that a kill left unmade were asked for again, ${tallies.uncertain} are uncertain; ` +
      `least spacing ${leastApart(made) ?? "none"} µs of ${settings.leastSpacingMicros} µs`,
  );
  for (const { what, fault } of checkSoak(evidence)) {
    console.log(`  ${fault === "" ? "holds" : "BROKEN"}  ${what}${fault === "" ? "" : `: ${fault}`}`);
    if (fault !== "") process.exitCode = 1;
  }
}
