/**
 * The gallery's controller without a mistake: other than the library's pacer, and as lawful.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { runJudged } from "../../harness/devices/trials.js";
import { formatRow, type TraceEvent } from "../../lib/trace/index.js";
import { anySettings, anyStimulus } from "../support/arbitraries.js";
import { runOf } from "./run.js";
import { runs } from "../support/runs.js";

const RUNS = runs(600);

test("a controller that lays strokes out otherwise keeps all laws on any stimulus in every mode mix", () => {
  fc.assert(
    fc.property(anySettings, anyStimulus, (settings, stimulus) => {
      const trace: TraceEvent[] = [];
      const run = runJudged(settings, (event) => trace.push(event), runOf());
      for (const event of stimulus) run.give(event);
      run.end((stimulus.at(-1)?.atMicros ?? 0) + settings.graceMicros + settings.longestPrimeMicros);
      const broken = run.verdicts().filter(({ answer }) => answer === "broken");
      if (broken.length > 0) throw new Error(JSON.stringify(broken) + "\n" + trace.map(formatRow).join("\n"));
      expect(broken).toEqual([]);
    }),
    { numRuns: RUNS },
  );
});
