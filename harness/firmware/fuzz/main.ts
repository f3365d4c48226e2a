/**
 * `npm run fuzz [EXECUTIONS [SEED]]`: every target against the fuzzer, a million executions each unless told. Harness layer.
 */
import { argv } from "node:process";
import { fuzz, missingFuzzer, TARGETS } from "./fuzz.js";

const executions = Number(argv[2] ?? 1_000_000);
const seed = Number(argv[3] ?? 1);
const missing = missingFuzzer();
if (missing !== undefined) {
  console.error(`Nothing was fuzzed: ${missing}.`);
  process.exitCode = 3;
} else if (!(executions >= 1 && seed >= 1)) {
  console.error("Executions and seed must be whole numbers from 1. Mend: npm run fuzz 1000000 1");
  process.exitCode = 2;
} else {
  for (const target of TARGETS) {
    const { executions: done, edges, failure } = fuzz(target, executions, seed);
    console.log(
      `${target}: ${failure ?? `${done} executions, ${edges} edges reached, nothing found`} (seed ${seed})`,
    );
    if (failure !== undefined) process.exitCode = 1;
  }
}
