/**
 * A journal that goes on with another meter feeds nothing for water that may never have passed.
 */
import { expect, test } from "vitest";
import { sound } from "../support/arbitraries.js";
import { journalFolder, Life, Plant, World } from "./rig.js";

const SETTINGS = sound({ strokes: 2, contacts: 1, leastSpacingMicros: 500_000, graceMicros: 10_000_000 });

test.each([
  ["the same meter, whose contacts are fed", "fake", 6, []],
  ["another meter, whose contacts are counted and not fed", "other", 0, ["register-odd", "missed-contacts"]],
])("it is %s", async (_, spec, strokes, troubles) => {
  const world = new World();
  const plant = new Plant(world, { register: 100 });
  const folder = journalFolder();
  const first = new Life(plant, folder);
  await first.start(SETTINGS);
  first.kill();
  plant.contact();
  plant.contact();
  plant.contact();
  await world.advance(1_000);
  const next = new Life(plant, folder);
  const meter = next.meter();
  const feed = await next.start(SETTINGS, { meter: { ...meter, about: { ...meter.about, spec } } });
  await world.advance(9_000);
  expect(plant.strokes).toHaveLength(strokes);
  expect(feed?.status()).toMatchObject({ contacts: 3, owed: 0 });
  expect(next.troubles.map(({ kind }) => kind)).toEqual(expect.arrayContaining(troubles));
});
