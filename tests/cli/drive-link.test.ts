/**
 * `tallystroke drive` on a pseudo-terminal: a meter and pump in a process of their own, which fail and come back.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { openPtyPlant } from "../bench-devices/pty.js";
import { brokenLaws, readAll } from "../drive/judge.js";
import { sound } from "../support/arbitraries.js";
import { startDrive } from "./drive-kit.js";
import { folder } from "./kit.js";

const SPACING_MICROS = 100_000;
const CORE = sound({
  strokes: 3,
  contacts: 2,
  leastSpacingMicros: SPACING_MICROS,
  graceMicros: 20_000_000,
  stuckMicros: 0,
  silentMicros: 0,
});

/** Strokes that the pump really made, in its own time. */
function madeIn(cwd: string): { readonly numbers: number[]; readonly leastMicros: number } {
  const rows = readFileSync(join(cwd, "strokes.csv"), "utf8")
    .trim()
    .split("\n")
    .slice(1)
    .map((row) => row.split(",").map(Number) as [number, number]);
  const gaps = rows.slice(1).map(([, at], i) => at - (rows[i]?.[1] ?? 0));
  return { numbers: rows.map(([number]) => number), leastMicros: Math.min(...gaps) };
}

test.each([
  ["stops answering", "stop"],
  ["is pulled out", "unplug"],
] as const)(
  "a device that %s ends the feed with status 3, and no stroke is lost or made twice over it",
  async (_name, fault) => {
    const cwd = folder();
    const device = () =>
      openPtyPlant(["--flow", "240", "--strokes", join(cwd, "strokes.csv"), "--memory", join(cwd, "memory")]);
    let plant = device();
    const start = () =>
      startDrive(cwd, [
        ...[
          "--meter",
          `serial:${plant.path}`,
          "--pump",
          `serial:${plant.path}`,
          "--ratio",
          "3:2",
          "--cap",
          "600",
        ],
        ...["--grace", "20 s", "--stuck", "never", "--silent", "never"],
      ]);
    const first = start();
    await first.told("paced", 4);
    if (fault === "stop") plant.stop();
    else await plant.unplug();
    const { status, talk } = await first.ended();
    expect([status, talk]).toEqual([
      3,
      expect.stringMatching(/Strokes have stopped\..*start again with the same command/s),
    ]);
    if (fault === "stop") plant.resume();
    else plant = device();

    const second = start();
    await second.told("paced", 3);
    second.child.kill("SIGTERM");
    expect((await second.ended()).status).toBe(0);
    const { tallies, strokes, events, register, ends } = readAll(join(cwd, "journal"));
    const { numbers, leastMicros } = madeIn(cwd);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
    expect(leastMicros).toBeGreaterThanOrEqual(SPACING_MICROS);
    expect([
      tallies.paced,
      tallies.uncertain,
      strokes.filter((stroke) => stroke.endsWith(" made")).length,
    ]).toEqual([numbers.length, 0, numbers.length]);
    expect(tallies.counted).toBe((register?.last ?? 0) - (register?.first ?? 0));
    expect(ends[1]).toBe("a signal");
    expect(brokenLaws(CORE, events)).toEqual([]);
  },
);
