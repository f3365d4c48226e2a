/**
 * A feed that is killed between any two of its operations goes on as if it had not been.
 */
import { describe, expect, test } from "vitest";
import { sound } from "../support/arbitraries.js";
import { checkPlant } from "./judge.js";
import { journalFolder, Life, Plant, type PlantOptions, World } from "./rig.js";

const SPACING_MILLIS = 400;
const GRACE_MILLIS = 5_000;

const SETTINGS = sound({
  strokes: 3,
  contacts: 2,
  leastSpacingMicros: SPACING_MILLIS * 1_000,
  graceMicros: GRACE_MILLIS * 1_000,
  owedLimitStrokes: 6,
  silentMicros: 0,
  stuckMicros: 0,
});

interface Outcome {
  readonly plant: Plant;
  readonly first: Life;
  readonly folder: string;
}

/** Water for four seconds, a hold and a primed second in it; killed at an operation, dark for a while, and on. */
async function scenario(options: PlantOptions, killAt: number, darkMillis: number): Promise<Outcome> {
  const world = new World();
  const plant = new Plant(world, options);
  const folder = journalFolder();
  const first = new Life(plant, folder, killAt);
  for (let at = 300; at < 4_000; at += 370)
    world.after(at, () => {
      plant.contact();
    });
  world.after(1_500, () => first.feed?.hold(true));
  world.after(1_900, () => first.feed?.hold(false));
  for (let at = 2_400; at < 2_900; at += 100) world.after(at, () => first.feed?.prime());
  await first.start(SETTINGS);
  await world.advance(5_000);
  if (!first.isDead) first.kill();
  await world.advance(darkMillis);
  const second = new Life(plant, folder);
  await second.start(SETTINGS);
  second.feed?.hold(false);
  for (let at = 200; at < 1_200; at += 300)
    world.after(at, () => {
      plant.contact();
    });
  await world.advance(GRACE_MILLIS + 2_000);
  second.feed?.end("done");
  await world.advance(100);
  second.kill();
  return { plant, first, folder };
}

const PLANTS: readonly (readonly [name: string, options: PlantOptions])[] = [
  ["a register and numbered strokes", {}],
  ["a register and a pump that keeps no number", { keepsNumber: false }],
  ["bare contacts and a pump that keeps no number", { keepsRegister: false, keepsNumber: false }],
];

describe.each(PLANTS)("with %s", (_name, options) => {
  test.each([
    ["a short dark", 500],
    ["a dark longer than the grace", GRACE_MILLIS + 500],
  ])(
    "no contact is lost, no stroke is made twice, at whatever operation it is killed, after %s",
    async (_dark, darkMillis) => {
      const whole = await scenario(options, Infinity, darkMillis);
      checkPlant(whole.plant, whole.folder, SETTINGS);
      const points = whole.first.points.length;
      expect(points).toBeGreaterThan(60);
      for (let killAt = 1; killAt <= points; killAt++) {
        const outcome = await scenario(options, killAt, darkMillis);
        try {
          checkPlant(outcome.plant, outcome.folder, SETTINGS);
        } catch (error) {
          throw new Error(`killed at operation ${killAt}, ${outcome.first.points.at(-1) ?? ""}`, {
            cause: error,
          });
        }
      }
    },
  );
});
