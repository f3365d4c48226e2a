/**
 * Is what came between two readings told exactly, over the wrap too, and a reading that went back never taken for more?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { countedOn, countedSince } from "../../harness/field/register.js";
import { runs } from "../support/runs.js";

const WRAP = 2 ** 32;

test("a register that goes on, over its wrap too, is told from one that went back", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 0, max: WRAP - 1 }),
      fc.integer({ min: 0, max: WRAP - 1 }),
      (from, count) => {
        expect(countedSince(from, countedOn(from, count))).toBe(count < WRAP / 2 ? count : undefined);
      },
    ),
    {
      numRuns: runs(500),
      examples: [
        [WRAP - 1, 1],
        [0, WRAP / 2 - 1],
        [0, WRAP / 2],
        [500, WRAP - 500],
      ],
    },
  );
});
