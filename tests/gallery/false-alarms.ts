/**
 * Do correct controllers pass? As many generated stimuli as asked for, over the link, under settings of four kinds. Test
 * support.
 */
import type { StartRun } from "../../harness/device.js";
import { runModel } from "../../harness/devices/model.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { SECOND, type SettingsInput } from "../../lib/pacing/index.js";
import { overTheLink } from "./catch.js";
import { settingsFor } from "./mistake.js";
import { runOf } from "./run.js";

export const CORRECT: readonly { readonly name: string; readonly start: StartRun }[] = [
  { name: "the library's pacer", start: runModel },
  { name: "the gallery's controller without a mistake", start: runOf() },
];

/** A ratio either way, with a guard, and with contacts that prime ignores. */
const KINDS: readonly Partial<SettingsInput>[] = [
  {},
  { strokes: 1, contacts: 5 },
  { contactsDuringPrime: "ignore" },
  { strokes: 1, contacts: 1, guardBudgetStrokes: 3, guardPeriodMicros: 10 * SECOND },
];

/** Verifies under settings of each kind; what was broken or failed, in words. */
export async function falseAlarms(start: StartRun, runs: number, firstSeed: number): Promise<string[]> {
  const device = await overTheLink(start);
  const alarms: string[] = [];
  try {
    for (const [i, kind] of KINDS.entries()) {
      const seed = firstSeed + i;
      const request = { scenarios: [], runs: Math.ceil(runs / KINDS.length), seed };
      const { laws, stimuli } = await verifyDevice(device, settingsFor({ settings: kind }), request);
      for (const { law, answer, evidence } of laws) {
        if (answer === "broken")
          alarms.push(`seed ${seed}, ${JSON.stringify(kind)}: ${law}: ${evidence ?? ""}`);
      }
      for (const { fault } of stimuli) if (fault) alarms.push(`seed ${seed}: ${fault.message}`);
    }
  } finally {
    await device.close();
  }
  return alarms;
}
