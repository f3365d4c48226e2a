/**
 * `npm run lockstep`: ten million random steps of the twin beside lib/pacing, under sanitizers, half of them led by
 * each. `npm run lockstep -- STEPS SEED` runs another number, or the seed of a failure.
 */
import { buildDriver } from "./native.js";
import { followTwin, leadTwin, type Reach } from "./lockstep.js";

const AT_ONCE = 20_000;

const [wanted = 10_000_000, first = 1] = process.argv.slice(2).map(Number);
const driver = buildDriver({ sanitized: true });
const reach: Reach = {};
const started = Date.now();
let steps = 0;
for (let seed = first; steps < wanted; seed++) {
  steps += leadTwin(driver, seed, AT_ONCE, reach);
  steps += followTwin(driver, seed, AT_ONCE, reach);
}
const seconds = (Date.now() - started) / 1_000;
process.stdout.write(
  `${steps} steps from seed ${first} on, the same in the twin and in lib/pacing, in ${seconds.toFixed(0)} s\n`,
);
for (const name of Object.keys(reach).sort()) process.stdout.write(`  ${name}: ${reach[name] ?? 0}\n`);
