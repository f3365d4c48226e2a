import fc from "fast-check";
import { expect, test } from "vitest";
import { runJudged } from "../../harness/devices/trials.js";
import { LAW_NAMES, type Verdict } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import { formatRow, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";

const RUNS = runs(600);

function judge(
  settings: Settings,
  stimulus: readonly StimulusEvent[],
): { verdicts: Verdict[]; trace: TraceEvent[] } {
  const trace: TraceEvent[] = [];
  const run = runJudged(settings, (event) => trace.push(event));
  for (const event of stimulus) run.give(event);
  run.end((stimulus.at(-1)?.atMicros ?? 0) + settings.graceMicros + settings.longestPrimeMicros);
  return { verdicts: run.verdicts(), trace };
}

test("the pacer keeps all fifteen laws on any stimulus in every mode mix", () => {
  fc.assert(
    fc.property(anySettings, anyStimulus, (settings, stimulus) => {
      const { verdicts, trace } = judge(settings, stimulus);
      const broken = verdicts.filter(({ answer }) => answer === "broken");
      if (broken.length > 0) throw new Error(JSON.stringify(broken) + "\n" + trace.map(formatRow).join("\n"));
      expect(verdicts.map(({ law }) => law)).toEqual(LAW_NAMES);
    }),
    { numRuns: RUNS },
  );
});
