/**
 * Does the mock meter tell what its invented day says, at any pace, and does the mock pump keep to numbers?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_DAY_MICROS, mockDay } from "../../harness/field/mock-day.js";
import { openField, openMeter, openPump } from "../../harness/field/open.js";
import { countedSince } from "../../harness/field/register.js";
import { VirtualClock } from "../link/bench.js";
import { runs } from "../support/runs.js";

test("the register of the invented day rises by one at each time that it foretells, at any pace, from any moment", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 1_000 }).map((tenths) => tenths / 10),
      fc.integer({ min: 0, max: 2 ** 51 }),
      (pace, fromMicros) => {
        const day = mockDay(pace);
        const nextMicros = day.nextAfter(fromMicros);
        expect(nextMicros).toBeGreaterThan(fromMicros);
        expect(day.registerAt(nextMicros - 1)).toBe(day.registerAt(fromMicros));
        // At a hundred times the pace two contacts never share a microsecond: they are 13 ms apart.
        expect(countedSince(day.registerAt(fromMicros), day.registerAt(nextMicros))).toBe(1);
      },
    ),
    { numRuns: runs(500) },
  );
});

test("a day of the mock has as many contacts as its flows make, however fast it goes by", () => {
  const perDay = (30 * 6 + 20 * 18 + 50 * 45 + 40 * 20 + 40 * 36 + 30 * 24 + 50 * 42 + 30 * 12) / 60;
  // What is left over at midnight is not carried on.
  for (const pace of [0.5, 1, 100]) {
    const day = mockDay(pace);
    expect(countedSince(day.registerAt(0), day.registerAt(MOCK_DAY_MICROS / pace))).toBe(Math.floor(perDay));
  }
});

test("the mock meter tells its register at once, then each contact as it comes, and nothing once closed", async () => {
  const clock = new VirtualClock();
  const meter = await openMeter("mock?pace=2", { clock, wallMicros: () => 0 });
  const heard: number[] = [];
  await meter.start({ hear: (event) => event.kind === "register" && heard.push(event.contacts), lost: fail });
  clock.goTo(MOCK_DAY_MICROS / 2);
  const ofDay = mockDay(2).registerAt(MOCK_DAY_MICROS / 2);
  expect(heard).toEqual(Array.from({ length: ofDay + 1 }, (_, i) => i));
  await meter.close();
  clock.goTo(MOCK_DAY_MICROS);
  expect(heard).toHaveLength(ofDay + 1);
  expect(clock.waiting).toBe(0);
});

test("the mock meter has counted on when the program comes back, and says that it is invented", async () => {
  const clock = new VirtualClock();
  const registers: number[] = [];
  for (const wall of [5_000, 5_000 + MOCK_DAY_MICROS]) {
    const meter = await openMeter("mock", { clock, wallMicros: () => wall });
    await meter.start({
      hear: (event) => event.kind === "register" && registers.push(event.contacts),
      lost: fail,
    });
    expect(meter.keepsRegister).toBe(true);
    expect(meter.about.cautions.join()).toMatch(/invented/);
    await meter.close();
  }
  expect(registers).toEqual([0, mockDay(1).registerAt(MOCK_DAY_MICROS)]);
});

test("the mock pump makes the next number, makes none twice, refuses any other and every one once closed", async () => {
  const pump = await openPump("mock");
  await pump.start({ lost: fail });
  await pump.stroke(4_294_967_295);
  await pump.stroke(4_294_967_295);
  await pump.stroke(0);
  await expect(pump.stroke(2)).rejects.toMatchObject({ fault: { kind: "refused" } });
  expect(await pump.lastStroke()).toBeUndefined();
  expect(pump.keepsNumber).toBe(false);
  await pump.close();
  await expect(pump.stroke(1)).rejects.toMatchObject({ fault: { kind: "refused" } });
});

test("mock can be both ends at once", async () => {
  const { meter, pump } = await openField({ meter: "mock", pump: "mock" });
  expect([meter.about.name, pump.about.name]).toEqual(["invented meter", "invented pump"]);
});

function fail(): never {
  throw new Error("it was lost");
}
