/**
 * Does the harness catch the mistakes that firmware really makes? The gallery, with fewer runs than `npm run gallery`.
 */
import { describe, expect, test } from "vitest";
import { amissWith, catchMistake, type CatchOptions } from "./catch.js";
import { CORRECT, falseAlarms } from "./false-alarms.js";
import { GALLERY } from "./gallery.js";

const OPTIONS: CatchOptions = { runs: 100, seed: 1, long: false };
/** It takes 65,536 contacts to show; `npm run gallery` takes that time. */
const LONG = ["16-bit contact counter"];
const CORRECT_RUNS = 40;

describe("over the link, byte for byte", () => {
  test("the gallery holds at least 28 different mistakes", () => {
    expect(new Set(GALLERY.map(({ name }) => name)).size).toBe(GALLERY.length);
    expect(GALLERY.length).toBeGreaterThanOrEqual(28);
  });

  test.each(GALLERY.filter(({ name }) => !LONG.includes(name)))(
    "$name: caught by $law, and shown by at most 8 events",
    async (mistake) => {
      expect(amissWith(await catchMistake(mistake, OPTIONS))).toBeUndefined();
    },
  );

  test.each(CORRECT)("$name is not blamed", async ({ start }) => {
    expect(await falseAlarms(start, CORRECT_RUNS, 1)).toEqual([]);
  });
});
