/**
 * Whatever happens to a feed, in any order and as often as it likes, the plant and the journal agree.
 */
import fc from "fast-check";
import { test } from "vitest";
import { settingsFor } from "../../harness/drive/start.js";
import type { Settings } from "../../lib/pacing/index.js";
import { anySettings } from "../support/arbitraries.js";
import { runs } from "../support/runs.js";
import { checkPlant } from "./judge.js";
import { journalFolder, Life, Plant, World } from "./rig.js";

/** Something that happens, and how long it is until the next thing. */
interface Happening {
  readonly thenMillis: number;
  readonly what:
    | { readonly kind: "contacts"; readonly count: number }
    | {
        readonly kind:
          "prime" | "hold" | "go on" | "reset" | "set the wall clock" | "lose the pump" | "lose the meter";
      }
    | { readonly kind: "stall" | "sleep"; readonly millis: number }
    | { readonly kind: "turn deaf" | "turn silent" }
    | {
        readonly kind: "kill";
        /** It dies at so many operations from now, or at the end of this pause. */
        readonly after: number;
        readonly darkMillis: number;
        readonly isNewBoot: boolean;
      };
}

const pause = fc.oneof(
  fc.nat({ max: 50 }),
  { weight: 3, arbitrary: fc.nat({ max: 1_500 }) },
  fc.nat({ max: 9_000 }),
);

const happening: fc.Arbitrary<Happening> = fc.record({
  thenMillis: pause,
  what: fc.oneof(
    {
      weight: 12,
      arbitrary: fc.record({ kind: fc.constant("contacts"), count: fc.integer({ min: 1, max: 4 }) }),
    },
    {
      weight: 5,
      arbitrary: fc.record({
        kind: fc.constantFrom(
          "prime",
          "hold",
          "go on",
          "reset",
          "set the wall clock",
          "lose the pump",
          "lose the meter",
        ),
      }),
    },
    {
      weight: 2,
      arbitrary: fc.record({ kind: fc.constantFrom("stall", "sleep"), millis: fc.nat({ max: 12_000 }) }),
    },
    { weight: 1, arbitrary: fc.record({ kind: fc.constantFrom("turn deaf", "turn silent") }) },
    {
      weight: 6,
      arbitrary: fc.record({
        kind: fc.constant("kill"),
        after: fc.integer({ min: 1, max: 12 }),
        darkMillis: pause,
        isNewBoot: fc.boolean(),
      }),
    },
  ),
});

const plantOptions = fc.constantFrom(
  {},
  { keepsNumber: false },
  { latencyMillis: 150 },
  { register: 2 ** 32 - 3 },
);

test(
  "no contact is lost, no stroke comes twice or too soon, and no law is broken",
  { timeout: runs(60) * 2_000 },
  async () => {
    await fc.assert(
      fc.asyncProperty(
        anySettings,
        plantOptions,
        fc.array(happening, { minLength: 1, maxLength: 25, size: "max" }),
        async (settings, options, happenings) => {
          const { plant, folder, inForce } = await live(settings, options, happenings);
          checkPlant(plant, folder, inForce);
        },
      ),
      { numRuns: runs(60) },
    );
  },
);

async function live(
  settings: Settings,
  options: ConstructorParameters<typeof Plant>[1],
  happenings: readonly Happening[],
): Promise<{ readonly plant: Plant; readonly folder: string; readonly inForce: Settings }> {
  const world = new World();
  const plant = new Plant(world, options);
  const folder = journalFolder();
  let life = new Life(plant, folder);
  await life.start(settings);
  for (const { thenMillis, what } of happenings) {
    if (what.kind === "kill") life.killAfter(what.after);
    else happen(what, life, plant);
    await world.advance(thenMillis);
    if (what.kind !== "kill") continue;
    life.kill();
    plant.mood = "well";
    await world.advance(what.darkMillis);
    if (what.isNewBoot) world.bootId += "+";
    life = new Life(plant, folder);
    await life.start(settings);
  }
  life.kill();
  plant.mood = "well";
  const last = new Life(plant, folder);
  const feed = await last.start(settings);
  feed?.hold(false);
  await world.advance(20_000);
  feed?.end("done");
  await world.advance(5_000);
  last.kill();
  return { plant, folder, inForce: settingsFor({ keepsRegister: true }, settings) };
}

const FAULT = { kind: "unplugged", message: "it is gone", mend: "put it back" } as const;

function happen(what: Exclude<Happening["what"], { kind: "kill" }>, { feed }: Life, plant: Plant): void {
  switch (what.kind) {
    case "contacts":
      for (let i = 0; i < what.count; i++) plant.contact();
      return;
    case "prime":
      feed?.prime();
      return;
    case "hold":
    case "go on":
      feed?.hold(what.kind === "hold");
      return;
    case "reset":
      feed?.reset();
      return;
    case "set the wall clock":
      plant.world.wallMillis -= 86_400_000;
      return;
    case "lose the pump":
      plant.pumpEars?.lost(FAULT);
      return;
    case "lose the meter":
      plant.meterEars?.lost(FAULT);
      return;
    case "stall":
      plant.world.stall(what.millis);
      return;
    case "sleep":
      plant.world.sleep(what.millis);
      return;
    case "turn deaf":
      plant.mood = "deaf";
      return;
    case "turn silent":
      plant.mood = "silent";
      return;
  }
}
