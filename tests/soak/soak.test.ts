/**
 * The short form of `npm run soak`: real processes, killed at random. TALLYSTROKE_TIMES makes it longer.
 */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, expect, test } from "vitest";
import { runSoak } from "../../bench/soak-run.js";
import { checkSoak } from "../../bench/soak-verdict.js";
import { runs } from "../support/runs.js";

const MAIN = fileURLToPath(new URL("../../harness/cli/main.ts", import.meta.url));
const KILLS = runs(5);
/** Of one kill, with the start of the feed after it, on a busy machine. */
const KILL_MILLIS = 20_000;

const folder = mkdtempSync(join(tmpdir(), "tallystroke-soak-"));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

test(
  `a feed that is killed ${KILLS} times loses no contact, makes no stroke twice, and none too early`,
  async () => {
    const seed = Math.floor(Math.random() * 1_000_000);
    const evidence = await runSoak({
      command: [process.execPath, "--import", "tsx", MAIN],
      folder: join(folder, "feed"),
      seed,
      kills: KILLS,
      devices: seed % 2 === 0 ? 2 : 1,
    });
    const broken = checkSoak(evidence).filter(({ fault }) => fault !== "");
    expect({ seed, broken }).toEqual({ seed, broken: [] });
    expect(evidence.made.length).toBeGreaterThan(0);
  },
  60_000 + KILLS * KILL_MILLIS,
);
