/**
 * The twin and the link's device end stand against a fuzzer that follows their coverage.
 */
import { describe, expect, test } from "vitest";
import { fuzz, linkDictionary, missingFuzzer, TARGETS } from "../../harness/firmware/fuzz/fuzz.js";
import { runs } from "../support/runs.js";

/** How much a target must be reached for a run to mean anything; what refuses every line reaches half of it. */
const EDGES = { twin: 350, controller: 600, fixture: 300 };

describe("against a fuzzer", () => {
  const missing = missingFuzzer();
  const title = missing === undefined ? "" : ` (${missing})`;

  test.skipIf(missing).each(TARGETS)(`%s stands, under sanitizers${title}`, (target) => {
    const { executions, edges, failure } = fuzz(target, runs(15_000), 20_261);
    expect(failure).toBeUndefined();
    expect(executions).toBeGreaterThanOrEqual(runs(15_000));
    expect(edges).toBeGreaterThan(EDGES[target]);
  });
});

test("the dictionary holds the words of the link's page", () => {
  const words = linkDictionary().split("\n");
  for (const word of ["hello", "stepped", "power-on", "leastSpacingMicros", "inhibit-off"])
    expect(words).toContain(`"${word}"`);
});
