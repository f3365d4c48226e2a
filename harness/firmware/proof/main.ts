/**
 * `npm run proof [SECONDS]`: what is proved of the twin, and what is not; each goal is tried for so long. Harness layer.
 *
 * Takes long: some thousand goals. Ends with 3, cannot tell, if an error could not be excluded or a goal not be shown.
 */
import { argv } from "node:process";
import { analyse, contracted, missingProver, prove } from "./prove.js";

/** Functions that are proved at once: so that something is told every few minutes. */
const BATCH = 8;

const seconds = Number(argv[2] ?? 30);
const missing = missingProver();
if (missing !== undefined) {
  console.error(`Nothing was proved: ${missing}.`);
  process.exitCode = 3;
} else if (!(seconds >= 1)) {
  console.error("The seconds for a goal must be a number from 1. Mend: npm run proof 30");
  process.exitCode = 2;
} else {
  const { reached, alarms } = await analyse();
  console.log(`Errors at run time: ${alarms.length} not excluded; ${reached} statements reached`);
  for (const alarm of alarms) console.log(`  ${alarm}`);
  const functions = contracted();
  let goals = 0;
  let proved = 0;
  for (let i = 0; i < functions.length; i += BATCH) {
    const batch = functions.slice(i, i + BATCH);
    const result = await prove(batch, seconds);
    goals += result.goals;
    proved += result.proved;
    console.log(`${batch.join(", ")}: ${result.proved} of ${result.goals} goals proved`);
    for (const goal of result.unproved) console.log(`  not proved: ${goal}`);
  }
  console.log(`${proved} of ${goals} goals proved in ${functions.length} functions`);
  if (proved < goals || alarms.length > 0) process.exitCode = 3;
}
