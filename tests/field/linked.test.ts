/**
 * Whatever a line or a device does, is every stroke made at most once, every contact read, and every failure told?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { FAULTS } from "../bench-devices/plant-end.mjs";
import { runs } from "../support/runs.js";
import { plantOnWire, rejected } from "./plant-wire.js";

const SECOND = 1_000_000;

/** What comes of the third stroke, how many strokes were made by then, and which number the pump says after. */
const OUTCOMES: readonly (readonly [string, string, number, number | undefined])[] = [
  ["lose-answer", "made", 3, 3],
  ["mute", "silent", 3, undefined],
  ["deaf", "silent", 2, undefined],
  ["restart", "restarted", 3, 3],
  ["restart-before", "restarted", 2, 2],
  ["forget", "restarted", 3, 0],
  ["hang-up", "unplugged", 3, 3],
  ["busy", "refused", 2, 2],
  ["other-number", "nonsense", 3, 3],
  ["nonsense", "nonsense", 3, 3],
  ["fault", "refused", 3, 3],
  ["register-back", "nonsense", 3, 3],
];

test("every fault that the stand-in knows is tried", () => {
  expect(OUTCOMES.map(([fault]) => fault).sort()).toEqual([...FAULTS].sort());
});

test.each(OUTCOMES)(
  "%s at the third stroke: it is %s within 1.5 s, and made once at most",
  async (fault, end, count, last) => {
    const { open, run, made, lost, clock } = plantOnWire({ fault, at: 3 });
    const { meter, pump } = await open();
    await run(pump.stroke(1));
    await run(pump.stroke(2));
    const began = clock.nowMicros();
    if (end === "made") await run(pump.stroke(3));
    else
      expect(await run(rejected(pump.stroke(3)))).toMatchObject({ name: "FieldError", fault: { kind: end } });
    expect(clock.nowMicros() - began).toBeLessThanOrEqual(1.5 * SECOND);
    expect(made).toEqual([1, 2, 3].slice(0, count));
    // A refusal ends nothing; everything else is told to both ends, once.
    const isOver = end !== "made" && fault !== "busy";
    await run(Promise.resolve());
    expect(lost.map(({ kind }) => kind)).toEqual(isOver ? [end, end] : []);
    await run(Promise.all([meter.close(), pump.close()]));
    if (last === undefined) return;
    const again = await open();
    expect(await run(again.pump.lastStroke())).toBe(last);
    await run(again.pump.stroke(last + 1));
    expect(made.at(-1)).toBe(last + 1);
  },
);

test("a stroke that is asked for again under its number is acknowledged and made once, also by the next feed", async () => {
  const { open, run, made } = plantOnWire({ last: 4_294_967_294 });
  const first = await open();
  for (const number of [4_294_967_295, 4_294_967_295, 0, 0]) await run(first.pump.stroke(number));
  const second = await open();
  await run(second.pump.stroke(0));
  await run(second.pump.stroke(1));
  expect(made).toEqual([4_294_967_295, 0, 1]);
});

test("a number that is neither the last nor the next is refused with the last, and the feed goes on", async () => {
  const { open, run, made, lost } = plantOnWire({ last: 7 });
  const { pump } = await open();
  for (const number of [6, 9, 0]) {
    expect(await run(rejected(pump.stroke(number)))).toMatchObject({
      fault: {
        kind: "refused",
        message: expect.stringMatching(/the last stroke made was number 7/) as string,
      },
    });
  }
  await run(pump.stroke(8));
  expect(made).toEqual([8]);
  expect(lost).toEqual([]);
});

test("every contact is told as it comes, over the wrap of the register, and those of an absence at once", async () => {
  const { open, run, pass, plant, heard, wire } = plantOnWire({ register: 4_294_967_294 });
  const first = await open();
  for (let i = 0; i < 4; i++) {
    plant.contact();
    await pass(1_000);
  }
  expect(heard).toEqual([4_294_967_294, 4_294_967_295, 0, 1, 2]);
  await run(Promise.all([first.meter.close(), first.pump.close()]));
  expect(wire().slice(-2)).toEqual([expect.stringMatching(/^> \d+ bye$/), expect.stringMatching(/^< ok /)]);
  plant.contact(40);
  await pass(SECOND);
  expect(heard).toHaveLength(5);
  await open();
  expect(heard.slice(5)).toEqual([42]);
});

test("a report of the register that is lost is made up for by the next, or within half a second", async () => {
  let isLossy = false;
  const damage = (bytes: Uint8Array): Uint8Array =>
    isLossy && Buffer.from(bytes).includes(" register ") ? new Uint8Array() : bytes;
  const { open, pass, plant, heard, lost } = plantOnWire({ damage });
  await open();
  plant.contact();
  await pass(1_000);
  isLossy = true;
  plant.contact();
  await pass(1_000);
  isLossy = false;
  plant.contact();
  await pass(1_000);
  expect(heard).toEqual([0, 1, 3]);
  isLossy = true;
  plant.contact();
  await pass(SECOND / 2 + 1_000);
  expect(heard).toEqual([0, 1, 3, 4]);
  expect(lost).toEqual([]);
});

test("an answer that was lost and is repeated takes the register back for nobody, though it is older than what was told", async () => {
  let loses = "";
  const damage = (bytes: Uint8Array): Uint8Array => {
    if (loses === "" || !Buffer.from(bytes).toString("latin1").startsWith(loses)) return bytes;
    loses = "";
    return new Uint8Array();
  };
  const { open, pass, plant, heard, lost, wire } = plantOnWire({ damage });
  await open();
  loses = "ok ";
  await pass(SECOND / 2 + 10_000);
  expect(loses).toBe("");
  plant.contact();
  await pass(SECOND / 4);
  expect(wire().slice(-3)).toMatchObject(
    [/^< 6 register \d+ 1$/, /^> \d+ register$/, /^< ok \d+ 5 0$/].map(
      (line) => expect.stringMatching(line) as string,
    ),
  );
  expect(heard).toEqual([0, 1]);
  expect(lost).toEqual([]);
});

test("a device that falls silent between strokes is lost within 1.5 s, and nothing is heard or done after", async () => {
  let isDead = false;
  const { open, run, pass, plant, heard, lost, clock } = plantOnWire({
    damage: (bytes) => (isDead ? new Uint8Array() : bytes),
  });
  const { pump } = await open();
  await pass(3 * SECOND);
  expect(lost).toEqual([]);
  isDead = true;
  const began = clock.nowMicros();
  await pass(1.5 * SECOND + 1_000);
  expect(lost.map(({ kind }) => kind)).toEqual(["silent", "silent"]);
  isDead = false;
  plant.contact();
  await pass(SECOND);
  expect(heard).toEqual([0]);
  expect(await run(rejected(pump.stroke(1)))).toMatchObject({ fault: { kind: "silent" } });
  expect(clock.nowMicros() - began).toBeLessThan(3 * SECOND);
});

test("a pulled cable is told at once, before anything is asked", async () => {
  const { open, pass, pull, lost } = plantOnWire();
  await open();
  pull();
  await pass(1_000);
  expect(lost.map(({ kind }) => kind)).toEqual(["unplugged", "unplugged"]);
});

test("whatever is asked at once goes over the line one after the other, in that order", async () => {
  const { open, run, made, wire } = plantOnWire({ delay: () => 10_000 });
  const { pump } = await open();
  const from = wire().length;
  const all = [
    pump.stroke(1),
    pump.lastStroke(),
    pump.stroke(2),
    rejected(pump.stroke(9)),
    pump.lastStroke(),
  ];
  expect((await run(Promise.all(all))).filter((each) => typeof each === "number")).toEqual([1, 2]);
  expect(made).toEqual([1, 2]);
  expect(
    wire()
      .slice(from)
      .map((line) => line.replace(/^> \d+ /, "> ").replace(/^< (ok|no) \d+ /, "< $1 ")),
  ).toEqual([
    ...["> stroke 1", "< ok 5 1", "> last", "< ok 5 1", "> stroke 2", "< ok 5 2"],
    ...["> stroke 9", "< no stroke 2", "> last", "< ok 5 2"],
  ]);
});

test("a cable that was pulled before the start is told by it", async () => {
  const { plug, run, pull } = plantOnWire();
  const { meter, pump } = await plug();
  pull();
  for (const end of [meter, pump]) {
    const work = rejected(end.start({ hear: () => undefined, lost: () => undefined }));
    expect(await run(work)).toMatchObject({ name: "FieldError", fault: { kind: "unplugged" } });
  }
});

test("an end that was closed hears nothing, while the other goes on over the same line", async () => {
  const { open, run, pass, plant, heard, lost, pull } = plantOnWire();
  const { meter, pump } = await open();
  await run(meter.close());
  plant.contact();
  await run(pump.stroke(1));
  pull();
  await pass(1_000);
  expect(heard).toEqual([0]);
  expect(lost.map(({ kind }) => kind)).toEqual(["unplugged"]);
  await run(pump.close());
});

test.each([
  [150_000, "made"],
  [400_000, "made"],
  [600_000, "silent"],
])("over a wire that takes %i µs either way a stroke is %s, and none is made twice", async (delay, end) => {
  let isSlow = false;
  const { open, run, made, heard, plant, pass } = plantOnWire({ delay: () => (isSlow ? delay : 0) });
  const { pump } = await open();
  isSlow = true;
  plant.contact();
  if (end === "made") {
    for (const number of [1, 2, 3]) {
      await run(pump.stroke(number));
      plant.contact();
    }
  } else {
    expect(await run(rejected(pump.stroke(1)))).toMatchObject({ fault: { kind: end } });
  }
  await pass(2 * SECOND);
  expect(made).toEqual(end === "made" ? [1, 2, 3] : [1]);
  // Old answers never take the register back.
  expect(heard).toEqual([...heard].sort((a, b) => a - b));
});

test("whatever bytes a line damages, no stroke is made twice or unasked, and none is acknowledged that was not made", async () => {
  let reached = 0;
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.tuple(fc.nat(1_500), fc.integer({ min: 1, max: 255 })), { minLength: 1, maxLength: 12 }),
      async (flips) => {
        const at = new Map(flips);
        let count = 0;
        let isNoisy = false;
        const damage = (bytes: Uint8Array): Uint8Array =>
          isNoisy ? bytes.map((byte) => byte ^ (at.get(count++) ?? 0)) : bytes;
        const { open, run, made, heard, plant, pass } = plantOnWire({ damage });
        const { meter, pump } = await open();
        isNoisy = true;
        let acknowledged = 0;
        try {
          for (let number = 1; number <= 15; number++) {
            plant.contact();
            await run(pump.stroke(number));
            acknowledged = number;
            await pass(20_000);
          }
        } catch (error) {
          expect(error).toMatchObject({ name: "FieldError" });
        }
        expect(made).toEqual(Array.from({ length: made.length }, (_, i) => i + 1));
        expect([0, 1]).toContain(made.length - acknowledged);
        expect(heard.every((contacts, i) => i === 0 || contacts > (heard[i - 1] ?? 0))).toBe(true);
        expect(heard.at(-1)).toBeLessThanOrEqual(plant.register);
        if (acknowledged === 15) reached += 1;
        await run(Promise.all([meter.close(), pump.close()]));
      },
    ),
    { numRuns: runs(300) },
  );
  // Repetition carries most of them through.
  expect(reached).toBeGreaterThan(runs(300) / 2);
});
