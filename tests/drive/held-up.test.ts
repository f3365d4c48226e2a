/**
 * A feed that could do nothing for a while does not act late on what came meanwhile.
 */
import { expect, test } from "vitest";
import { sound } from "../support/arbitraries.js";
import { brokenLaws, readAll } from "./judge.js";
import { journalFolder, Life, Plant, type PlantOptions, World } from "./rig.js";

const GRACE_MILLIS = 10_000;

const SETTINGS = sound({
  strokes: 2,
  contacts: 1,
  leastSpacingMicros: 500_000,
  graceMicros: GRACE_MILLIS * 1_000,
  cadence: "prompt",
  silentMicros: 0,
  stuckMicros: 0,
});

async function bench(options: PlantOptions = {}) {
  const world = new World();
  const plant = new Plant(world, options);
  const folder = journalFolder();
  const life = new Life(plant, folder);
  const feed = await life.start(SETTINGS);
  if (feed === undefined) throw new Error("the feed did not start");
  return { world, plant, folder, life, feed };
}

test("contacts that were held up past the grace, in many readings, are counted and not fed, and told once", async () => {
  const { world, plant, folder, life, feed } = await bench();
  plant.contact();
  await world.advance(3_000);
  world.stall(GRACE_MILLIS * 2);
  for (let i = 0; i < 30; i++) plant.contact();
  await world.advance(3_000);
  expect(plant.strokes).toHaveLength(2);
  expect(feed.status()).toMatchObject({ contacts: 31, owed: 0, shed: { inhibit: 60 } });
  expect(life.troubles.map(({ kind }) => kind)).toEqual(["stalled", "missed-contacts"]);
  plant.contact();
  await world.advance(3_000);
  expect(plant.strokes).toHaveLength(4);
  feed.end("the test is over");
  await world.advance(100);
  expect(brokenLaws(SETTINGS, readAll(folder).events)).toEqual([]);
});

test("contacts that were held up for less than the grace are fed", async () => {
  const { world, plant } = await bench();
  world.stall(GRACE_MILLIS / 2);
  for (let i = 0; i < 3; i++) plant.contact();
  await world.advance(5_000);
  expect(plant.strokes).toHaveLength(6);
});

test("keys of prime that were pressed while nothing could be done prime nothing", async () => {
  const { world, plant, feed } = await bench();
  await world.advance(1_000);
  world.stall(5_000);
  for (let i = 0; i < 40; i++) feed.prime();
  await world.advance(3_000);
  expect(plant.strokes).toEqual([]);
  feed.prime();
  await world.advance(3_000);
  expect(plant.strokes).toHaveLength(2);
});

test("an acknowledgement that was held up with the program is heard, however late", async () => {
  const { world, plant, feed, life } = await bench({ latencyMillis: 40 });
  plant.contact();
  await world.advance(10);
  world.stall(5_000);
  await world.advance(5_000);
  expect(plant.strokes).toHaveLength(2);
  expect(feed.status()).toMatchObject({ paced: 2, owed: 0 });
  expect(life.troubles.map(({ kind }) => kind)).toEqual(["stalled"]);
});
