/**
 * A live feed in virtual time: what it makes of contacts, keys and whatever fails, as end.ts states it.
 */
import { cpSync, rmSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { JUMP_MOST } from "../../harness/drive/contacts.js";
import type { FeedEnd } from "../../harness/drive/end.js";
import { HEAD_FILE, LOCK_FILE, STORE_FILE } from "../../harness/journal/schema.js";
import type { Settings } from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";
import { brokenLaws, readAll, shedInAll, verdictsOn } from "./judge.js";
import { journalFolder, Life, Plant, type PlantOptions, World } from "./rig.js";

const SPACING_MILLIS = 500;
const GRACE_MILLIS = 10_000;

function settings(changes: Partial<Parameters<typeof sound>[0]> = {}): Settings {
  return sound({
    strokes: 2,
    contacts: 1,
    leastSpacingMicros: SPACING_MILLIS * 1_000,
    graceMicros: GRACE_MILLIS * 1_000,
    cadence: "prompt",
    silentMicros: 0,
    stuckMicros: 0,
    ...changes,
  });
}

const FAULT = { kind: "unplugged", message: "the cable is out", mend: "put it back" } as const;

interface Bench {
  readonly world: World;
  readonly plant: Plant;
  readonly folder: string;
  readonly life: Life;
}

async function bench(options: PlantOptions = {}, chosen = settings()): Promise<Bench> {
  const world = new World();
  const plant = new Plant(world, options);
  const folder = journalFolder();
  const life = new Life(plant, folder);
  await life.start(chosen);
  return { world, plant, folder, life };
}

/** Ends the feed if it has not ended, and says how it did. */
async function endOf({ world, life }: Bench): Promise<FeedEnd | undefined> {
  let end: FeedEnd | undefined;
  void life.feed?.ended.then((ended) => (end = ended));
  life.feed?.end("the test is over");
  await world.advance(5_000);
  return end;
}

/** The same plant and journal, after a while. */
async function again(
  { world, plant, folder, life }: Bench,
  darkMillis: number,
  chosen = settings(),
  more = {},
): Promise<Bench> {
  life.kill();
  await world.advance(darkMillis);
  const next = new Life(plant, folder);
  await next.start(chosen, more);
  return { world, plant, folder, life: next };
}

function strokeTimes({ plant }: Bench): number[] {
  const [first] = plant.strokes;
  return plant.strokes.map(({ atMillis }) => atMillis - (first?.atMillis ?? 0));
}

describe("a feed that goes well", () => {
  test("makes the strokes that contacts pay for, each kept before it is asked for and acknowledged after", async () => {
    const on = await bench();
    for (let i = 0; i < 3; i++) {
      on.plant.contact();
      await on.world.advance(1_500);
    }
    expect(on.plant.strokes.map(({ number }) => number)).toEqual([1, 2, 3, 4, 5, 6]);
    const at = on.life.points.indexOf("stroke asked");
    expect(on.life.points.slice(at - 1, at + 3)).toEqual([
      "after commit",
      "stroke asked",
      "stroke made",
      "stroke acknowledged",
    ]);
    expect(await endOf(on)).toEqual({ kind: "asked", why: "the test is over" });
    const { tallies, ends, strokes, events } = readAll(on.folder);
    expect([tallies.counted, tallies.paced, tallies.owed, ends]).toEqual([3, 6, 0, ["the test is over"]]);
    expect(strokes).toEqual([1, 2, 3, 4, 5, 6].map((number) => `${number} made`));
    expect(brokenLaws(settings(), events)).toEqual([]);
    const seen = verdictsOn(settings(), events).filter(({ answer }) => answer === "holds");
    expect(seen.map(({ law }) => law)).toEqual(
      expect.arrayContaining(["proportion", "balance", "cap", "causality", "debt", "still-water"]),
    );
  });

  test.each([2, 120, 900])(
    "keeps the least spacing at the pump where its line takes %i ms there and back",
    async (latencyMillis) => {
      const on = await bench({ latencyMillis });
      for (let i = 0; i < 4; i++) on.plant.contact();
      await on.world.advance(12_000);
      expect(on.plant.strokes).toHaveLength(8);
      expect(on.plant.leastSpacingMillis()).toBeGreaterThanOrEqual(SPACING_MILLIS);
    },
  );

  test("spaces strokes from the acknowledgement and no further: it loses one way of the line a stroke", async () => {
    const on = await bench({ latencyMillis: 100 });
    for (let i = 0; i < 2; i++) on.plant.contact();
    await on.world.advance(5_000);
    const gaps = strokeTimes(on)
      .slice(1)
      .map((at, i) => at - (strokeTimes(on)[i] ?? 0));
    // Asked 500 ms after the acknowledgement, which came 50 ms after the stroke; 50 ms there; a timer tick for each.
    for (const gap of gaps) expect(gap).toBeGreaterThanOrEqual(600);
    for (const gap of gaps) expect(gap).toBeLessThanOrEqual(603);
  });

  test("qualifies a bare contact's edges itself, and writes edges that change nothing together", async () => {
    const on = await bench({ keepsRegister: false, keepsNumber: false });
    const before = on.life.points.length;
    for (let i = 0; i < 20; i++) {
      on.plant.meterEars?.hear({ kind: "close" });
      on.plant.meterEars?.hear({ kind: "open" });
    }
    await on.world.advance(300);
    expect(on.life.points.slice(before)).toEqual(["before commit", "after commit"]);
    on.plant.contact();
    await on.world.advance(2_000);
    await endOf(on);
    expect(readAll(on.folder).tallies).toMatchObject({ counted: 1, paced: 2 });
  });

  test("takes contacts that its register tells together as so many, also over its end", async () => {
    const on = await bench({ register: 2 ** 32 - 2 });
    on.plant.register = 1;
    on.plant.meterEars?.hear({ kind: "register", contacts: 1 });
    await on.world.advance(4_000);
    expect(on.life.feed?.status()).toMatchObject({ contacts: 3, paced: 6, troubles: [] });
  });
});

describe("prime", () => {
  test("lasts while its key repeats, and ends 0.7 s after its last sign", async () => {
    const on = await bench();
    for (let at = 0; at <= 1_500; at += 100) on.world.after(at, () => on.life.feed?.prime());
    await on.world.advance(1_600);
    expect(on.life.feed?.status().priming).toBe(true);
    await on.world.advance(3_000);
    expect(on.life.feed?.status().priming).toBe(false);
    // At 0, 0.5, 1.0, 1.5 and 2.0 s, with what the line took; released at 2.2 s.
    expect(strokeTimes(on).map((at) => Math.round(at / 100))).toEqual([0, 5, 10, 15, 20]);
    expect(on.life.feed?.status().primed).toBe(5);
  });

  test("one press is one short override", async () => {
    const on = await bench();
    on.life.feed?.prime();
    await on.world.advance(5_000);
    expect(on.life.feed?.status()).toMatchObject({ primed: 2, priming: false });
  });

  test("makes no stroke after a program that was held up finds it let go", async () => {
    const on = await bench();
    on.life.feed?.prime();
    await on.world.advance(400);
    const made = on.plant.strokes.length;
    on.world.stall(3_000);
    await on.world.advance(3_000);
    expect([on.plant.strokes.length, on.life.feed?.status().priming]).toEqual([made, false]);
    await endOf(on);
    expect(brokenLaws(settings(), readAll(on.folder).events)).toEqual([]);
  });
});

describe("what fails", () => {
  test.each([
    ["meter", "meter-lost", "other"],
    ["pump", "pump-lost", "pump"],
  ] as const)(
    "a %s that is lost stops strokes, sheds what is owed under its name, and ends the feed",
    async (end, kind, cause) => {
      const on = await bench();
      for (let i = 0; i < 3; i++) on.plant.contact();
      await on.world.advance(600);
      const made = on.plant.strokes.length;
      (end === "meter" ? on.plant.meterEars : on.plant.pumpEars)?.lost(FAULT);
      expect(await endOf(on)).toMatchObject({
        kind,
        why: expect.stringContaining("the cable is out") as string,
      });
      expect(on.plant.strokes).toHaveLength(made);
      const { tallies, ends, notes, events } = readAll(on.folder);
      expect([tallies.shed.inhibit, tallies.owed, ends, notes]).toEqual([6 - made, 0, [kind], [kind]]);
      expect(events).toContainEqual(expect.objectContaining({ kind: "inhibit-on", cause }));
      expect(on.life.closed).toEqual({ meter: 1, pump: 1 });
      expect(brokenLaws(settings(), events)).toEqual([]);
    },
  );

  test.each([
    ["deaf", "unmade", 0],
    ["silent", "made", 1],
  ] as const)(
    "a pump that is %s does not acknowledge: strokes stop, and the next start finds the stroke %s",
    async (mood, outcome, made) => {
      const on = await bench();
      on.plant.mood = mood;
      on.plant.contact();
      await on.world.advance(2_000);
      expect(on.plant.strokes).toHaveLength(made);
      await on.world.advance(2_000);
      expect(await endOf(on)).toMatchObject({ kind: "not-acknowledged" });
      on.plant.mood = "well";
      const next = await again(on, 100);
      await next.world.advance(GRACE_MILLIS);
      await endOf(next);
      const { tallies, strokes, events } = readAll(next.folder);
      expect(strokes).toEqual([`1 ${outcome}`]);
      expect(on.plant.strokes).toHaveLength(made);
      // The pump's failure has shed what was owed, the stroke that was not made included.
      expect(tallies).toMatchObject({ paced: made, uncertain: 0, earned: 2 });
      expect(tallies.shed.inhibit).toBe(2 - made);
      expect(brokenLaws(settings(), events)).toEqual([]);
    },
  );

  test("a pump that is lost is asked for no stroke any more, not even one that is due at that moment", async () => {
    const on = await bench();
    on.plant.contact();
    await on.world.advance(100);
    on.world.stall(1_000);
    on.plant.pumpEars?.lost(FAULT);
    await on.world.advance(1_000);
    expect(on.life.points.filter((point) => point === "stroke asked")).toHaveLength(1);
    expect(on.life.feed?.status()).toMatchObject({ paced: 1, owed: 0 });
  });

  test("an end that was asked for while a stroke stays unacknowledged is no end in order, and says so", async () => {
    const on = await bench();
    on.plant.mood = "silent";
    on.plant.contact();
    await on.world.advance(100);
    const end = await endOf(on);
    expect(end).toMatchObject({
      kind: "not-acknowledged",
      why: expect.stringMatching(/Whether stroke 1 was made/) as string,
    });
    expect(readAll(on.folder)).toMatchObject({ notes: ["not-acknowledged"], strokes: ["1 asked"] });
  });

  test("a pump that refuses ends the feed as lost", async () => {
    const on = await bench();
    on.plant.mood = "refuses";
    on.plant.contact();
    await on.world.advance(1_000);
    expect(await endOf(on)).toMatchObject({ kind: "pump-lost" });
  });

  test("a journal that cannot be written stops strokes before one is asked for", async () => {
    const on = await bench();
    on.life.journal?.close();
    on.plant.contact();
    await on.world.advance(3_000);
    expect(on.plant.strokes).toEqual([]);
    expect(await endOf(on)).toMatchObject({ kind: "journal" });
    // What is told at the end is what was kept.
    expect(on.life.feed?.status()).toMatchObject({ contacts: 0, earned: 0, paced: 0 });
    expect(on.life.troubles.map(({ kind }) => kind)).toEqual(["journal"]);
  });

  test("an inhibit of a lost pump is over at the next start", async () => {
    const on = await bench();
    on.plant.pumpEars?.lost(FAULT);
    await on.world.advance(100);
    const next = await again(on, 100);
    next.plant.contact();
    await next.world.advance(3_000);
    expect(next.life.feed?.status()).toMatchObject({ inhibits: [], paced: 2 });
  });
});

describe("clocks", () => {
  test("a wall clock that is set changes nothing and is told", async () => {
    const on = await bench();
    on.plant.contact();
    await on.world.advance(100);
    on.world.wallMillis -= 3_600_000;
    await on.world.advance(3_000);
    expect(on.life.feed?.status()).toMatchObject({ paced: 2, owed: 0 });
    expect(on.life.troubles).toMatchObject([
      { kind: "clock-stepped", words: expect.stringContaining("back by 1 h") as string },
    ]);
  });

  test.each([
    [GRACE_MILLIS / 2, 0],
    [GRACE_MILLIS * 2, 3],
  ])("a machine that slept for %i ms sheds %i strokes, as a power cut so long does", async (millis, shed) => {
    const on = await bench();
    on.plant.contact();
    on.plant.contact();
    await on.world.advance(300);
    on.world.sleep(millis);
    await on.world.advance(4_000);
    expect(on.life.troubles.map(({ kind }) => kind)).toEqual(["suspended"]);
    expect(on.life.feed?.status()).toMatchObject({
      paced: 4 - shed,
      shed: expect.objectContaining({ power: shed }) as object,
    });
    await endOf(on);
    const { events } = readAll(on.folder);
    expect(brokenLaws(settings(), events)).toEqual([]);
    expect(on.plant.leastSpacingMillis()).toBeGreaterThanOrEqual(SPACING_MILLIS);
  });

  test("a program that was held up makes no two strokes at once after, and says so", async () => {
    const on = await bench();
    for (let i = 0; i < 3; i++) on.plant.contact();
    await on.world.advance(300);
    on.world.stall(4_000);
    await on.world.advance(6_000);
    expect(on.life.troubles.map(({ kind }) => kind)).toEqual(["stalled"]);
    expect(on.plant.strokes).toHaveLength(6);
    expect(on.plant.leastSpacingMillis()).toBeGreaterThanOrEqual(SPACING_MILLIS);
  });

  test("a program that was held up past the grace sheds what is owed as still water", async () => {
    const on = await bench();
    for (let i = 0; i < 3; i++) on.plant.contact();
    await on.world.advance(300);
    const made = on.plant.strokes.length;
    on.world.stall(GRACE_MILLIS);
    await on.world.advance(3_000);
    expect(on.life.feed?.status().shed.still).toBe(6 - made);
  });
});

describe("a start after another", () => {
  test("feeds what was owed after a short dark, and keeps the least spacing from the start", async () => {
    const on = await bench();
    on.plant.contact();
    on.plant.contact();
    await on.world.advance(700);
    const next = await again(on, 100);
    const startedMillis = next.world.nowMillis;
    await next.world.advance(4_000);
    expect(next.plant.strokes.map(({ number }) => number)).toEqual([1, 2, 3, 4]);
    expect((next.plant.strokes[2]?.atMillis ?? 0) - startedMillis).toBeGreaterThanOrEqual(
      SPACING_MILLIS - 10,
    );
  });

  test.each([
    ["a short dark feeds", 1_000, "boot-1", 0],
    ["a dark longer than the grace sheds", GRACE_MILLIS + 1_000, "boot-1", 4],
    ["a dark of unknown length sheds", 1_000, "boot-2", 4],
  ])("%s what contacts earned that came meanwhile", async (_name, darkMillis, bootId, shed) => {
    const on = await bench();
    await on.world.advance(1_000);
    on.world.after(300, () => {
      on.plant.contact();
      on.plant.contact();
    });
    on.world.bootId = "boot-1";
    on.life.kill();
    await on.world.advance(darkMillis);
    on.world.bootId = bootId;
    const next = await again(on, 0);
    await next.world.advance(4_000);
    expect(next.life.feed?.status()).toMatchObject({ contacts: 2, earned: 4, paced: 4 - shed, owed: 0 });
    expect(next.life.troubles.map(({ kind }) => kind)).toEqual(["missed-contacts"]);
    await endOf(next);
    const { tallies, events } = readAll(next.folder);
    expect(shedInAll(tallies)).toBe(shed);
    expect(brokenLaws(settings(), events)).toEqual([]);
  });

  test("an idle feed is dark only from its last sign of life, so that contacts missed shortly are fed", async () => {
    const on = await bench();
    await on.world.advance(GRACE_MILLIS * 3);
    on.life.kill();
    on.plant.contact();
    const next = await again(on, 500);
    await next.world.advance(3_000);
    expect(next.life.feed?.status()).toMatchObject({ contacts: 1, paced: 2 });
  });

  test.each([
    ["acknowledged", 200, 0],
    ["still under way", 100, 1],
  ])(
    "a stroke that was %s when the feed was killed %i ms after its contact: %i are uncertain, by a pump that keeps no number",
    async (_name, afterMillis, uncertain) => {
      const on = await bench({ keepsNumber: false, latencyMillis: 150 });
      on.plant.contact();
      await on.world.advance(afterMillis);
      const next = await again(on, 100);
      expect(next.life.feed?.status().uncertain).toBe(uncertain);
      expect(next.life.troubles.map(({ kind }) => kind)).toEqual(uncertain === 1 ? ["uncertain-stroke"] : []);
      await next.world.advance(2_000);
      // The other stroke of the contact is still made; the uncertain one is not repeated.
      expect(next.plant.strokes.map(({ number }) => number)).toEqual([1, 2]);
    },
  );

  test.each([
    [JUMP_MOST, JUMP_MOST, ["missed-contacts"]],
    [JUMP_MOST + 1, 0, ["register-odd"]],
  ])("of %i contacts that were missed %i are counted", async (came, counted, troubles) => {
    const on = await bench();
    await on.world.advance(500);
    on.life.kill();
    on.plant.register += came;
    on.world.bootId = "boot-2";
    const next = await again(on, 100);
    expect(next.life.feed?.status()).toMatchObject({ contacts: counted, paced: 0, owed: 0 });
    expect(next.life.troubles.map(({ kind }) => kind)).toEqual(troubles);
  });

  test("a stroke that was not made and a hold that came meanwhile: it is shed by the hold, and the feed goes on", async () => {
    const on = await bench();
    on.plant.mood = "deaf";
    on.plant.contact();
    await on.world.advance(100);
    on.life.feed?.hold(true);
    await on.world.advance(100);
    on.plant.mood = "well";
    const next = await again(on, 100);
    await endOf(next);
    const { tallies, strokes, events } = readAll(next.folder);
    expect(strokes).toEqual(["1 unmade"]);
    expect([tallies.paced, tallies.shed.hold]).toEqual([0, 2]);
    expect(brokenLaws(settings(), events)).toEqual([]);
  });

  test("a meter without a register in between leaves no register to go on from", async () => {
    const on = await bench({ register: 100 });
    on.plant.contact();
    await on.world.advance(2_000);
    on.life.kill();
    const bare = new Plant(on.world, { keepsRegister: false });
    bare.last = on.plant.last;
    const second = new Life(bare, on.folder);
    await second.start(settings());
    second.kill();
    on.plant.register += 50;
    const third = await again(on, 100);
    expect(third.life.feed?.status().contacts).toBe(1);
    expect(third.life.troubles).toEqual([]);
  });

  test("a register that went back counts nothing, and says so", async () => {
    const on = await bench({ register: 500 });
    on.plant.contact();
    await on.world.advance(2_000);
    on.life.kill();
    on.plant.register = 3;
    const next = await again(on, 100);
    next.plant.contact();
    await next.world.advance(2_000);
    expect(next.life.feed?.status()).toMatchObject({ contacts: 2, paced: 4 });
    expect(next.life.troubles.map(({ kind }) => kind)).toEqual(["register-odd"]);
  });

  test("a pump that made strokes of which the journal knows nothing has what is owed shed", async () => {
    const on = await bench();
    on.plant.contact();
    on.plant.contact();
    await on.world.advance(300);
    on.life.kill();
    on.plant.make(2);
    on.plant.make(3);
    const next = await again(on, 100);
    await next.world.advance(4_000);
    expect(next.life.troubles.map(({ kind }) => kind)).toEqual(["number-odd"]);
    expect(next.life.feed?.status()).toMatchObject({
      paced: 1,
      shed: expect.objectContaining({ power: 3 }) as object,
    });
    next.plant.contact();
    await next.world.advance(2_000);
    expect(next.plant.strokes.map(({ number }) => number)).toEqual([1, 2, 3, 4, 5]);
  });

  test("a journal that lost its tail sheds rather than feeding twice, and says what it lost", async () => {
    const on = await bench();
    on.plant.contact();
    await on.world.advance(1_500);
    const copy = `${on.folder}-copy`;
    cpSync(on.folder, copy, { recursive: true });
    on.plant.contact();
    await on.world.advance(1_500);
    on.life.kill();
    cpSync(join(on.folder, HEAD_FILE), join(copy, HEAD_FILE));
    rmSync(join(copy, `${STORE_FILE}-shm`), { force: true });
    rmSync(join(copy, LOCK_FILE), { force: true });
    const next = await again({ ...on, folder: copy }, 100);
    await next.world.advance(4_000);
    expect(next.life.troubles.map(({ kind }) => kind)).toEqual(["journal", "number-odd", "missed-contacts"]);
    expect(next.life.troubles[0]?.words).toMatch(/lost its last \d steps? \(1 contact, 2 strokes\)/);
    expect(next.plant.strokes.map(({ number }) => number)).toEqual([1, 2, 3, 4]);
    expect(next.life.feed?.status()).toMatchObject({
      contacts: 2,
      paced: 2,
      owed: 0,
      shed: expect.objectContaining({ inhibit: 2 }) as object,
    });
  });

  test("a new journal takes the pump's number as it is", async () => {
    const world = new World();
    const plant = new Plant(world);
    plant.last = 77;
    const life = new Life(plant, journalFolder());
    await life.start(settings());
    plant.contact();
    await world.advance(1_500);
    expect([plant.strokes.map(({ number }) => number), life.troubles]).toEqual([[78, 79], []]);
  });

  test("a hold stands until a person ends it; prime does not come back", async () => {
    const on = await bench();
    on.life.feed?.prime();
    await on.world.advance(100);
    on.life.feed?.hold(true);
    await on.world.advance(100);
    const next = await again(on, 100);
    next.plant.contact();
    await next.world.advance(2_000);
    expect(next.life.feed?.status()).toMatchObject({ held: true, priming: false, ignored: 1, paced: 0 });
  });

  test("new settings come into force with the remainder rounded down, and large increases only when confirmed", async () => {
    const slow = settings({ strokes: 1, contacts: 4 });
    const on = await bench({}, slow);
    for (let i = 0; i < 3; i++) on.plant.contact();
    await on.world.advance(100);
    const fast = settings({ strokes: 1, contacts: 1 });
    on.life.kill();
    const refused = new Life(on.plant, on.folder);
    await expect(refused.start(fast)).rejects.toThrow(/--ratio is 1:1 where the journal has 1:4.*--confirm/);
    refused.kill();
    const next = await again(on, 100, fast, { confirmed: true });
    expect(next.life.feed?.status()).toMatchObject({ ratio: "1:1", remainder: 0 });
    next.plant.contact();
    await next.world.advance(2_000);
    await endOf(next);
    const { tallies, events } = readAll(next.folder);
    expect(tallies).toMatchObject({ counted: 4, paced: 1 });
    expect(brokenLaws(slow, events)).toEqual([]);
  });
});
