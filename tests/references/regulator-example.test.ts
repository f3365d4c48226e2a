/**
 * Does a regulator's worked example come back when it is run as contacts in, strokes out, dose back?
 *
 * Source: California State Water Resources Control Board, Division of Drinking Water, Example Calculations of Chlorine
 * Dosage, 2018, Eq. 1A, 2A and Dosage Example 2 (ids `feed-ex-swrcb-2`, `feed-const-9525`, `feed-const-2.52`; read in two
 * public mirrors): 40 mL/min of 0.25 % w/v into 35 gal/min is 0.72 mg/L as Cl2. Derived from it, not published (ids
 * `pace-swrcb2-…`): 1 gal a contact and 0.5 mL a stroke make 80 strokes on 35 contacts a minute, 16:7.
 */
import { describe, expect, test } from "vitest";
import { HOUR, MINUTE, type SettingsInput } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { runModel } from "../../harness/devices/model.js";
import { valid } from "../pacing/kit.js";

const STRENGTH_PERCENT = 0.25;
const ML_PER_STROKE = 0.5;
const GAL_PER_CONTACT = 1;
const ML_PER_GAL = 3785.411784;

/** Eq. 2A: mg/L as Cl2 = 2.52 · mL/min · % / gpm. */
function doseByRates(mlPerMin: number, galPerMin: number): number {
  return (2.52 * mlPerMin * STRENGTH_PERCENT) / galPerMin;
}

/** Eq. 1A: mg/L as Cl2 = 9525 · gal of solution · % / gal of water. */
function doseByVolumes(solutionMl: number, waterGal: number): number {
  return (9525 * (solutionMl / ML_PER_GAL) * STRENGTH_PERCENT) / waterGal;
}

interface Hour {
  readonly contacts: number;
  readonly strokes: number;
  readonly shed: number;
}

/** One hour of steady flow through the pacer as a device. Contact k comes at k minutes / gpm, cut to whole µs. */
function runHour(galPerMin: number, over: Partial<SettingsInput>): Hour {
  const trace: TraceEvent[] = [];
  const device = runModel(valid({ strokes: 16, contacts: 7, ...over }), (event) => trace.push(event));
  for (let k = 1; k <= galPerMin * 60; k++) {
    device.give({ kind: "contact", atMicros: Math.floor((k * MINUTE) / galPerMin) });
  }
  // The strokes of the last contact come within the interval after it.
  device.end(HOUR + Math.floor(MINUTE / galPerMin));
  const count = (kind: string): number => trace.filter((event) => event.kind === kind).length;
  const shed = trace.reduce((sum, event) => sum + (event.kind === "shed" ? event.strokes : 0), 0);
  return { contacts: count("contact"), strokes: count("paced"), shed };
}

const CADENCES = [{ cadence: "spread" }, { cadence: "prompt" }] as const;

test("the regulator's two constants agree with each other and with the molar masses", () => {
  expect(Math.abs(9525 - (10_000 * 70.906) / 74.442)).toBeLessThan(1);
  expect(Math.abs(2.52 - 9525 / ML_PER_GAL)).toBeLessThan(0.005);
});

describe.each(CADENCES)("$cadence", ({ cadence }) => {
  test("the first seven contacts are worth 2 2 2 3 2 2 3 strokes (pace-swrcb2-pattern)", () => {
    const trace: TraceEvent[] = [];
    const settings = valid({ strokes: 16, contacts: 7, leastSpacingMicros: 500_000, cadence });
    const device = runModel(settings, (event) => trace.push(event));
    for (let k = 1; k <= 7; k++) device.give({ kind: "contact", atMicros: Math.floor((k * MINUTE) / 35) });
    const earned = trace.flatMap((event) => (event.kind === "counted" ? [event.earned] : []));
    expect(earned).toEqual([2, 2, 2, 3, 2, 2, 3]);
  });

  test("an hour at 35 gal/min makes exactly 4,800 strokes, and 0.72 mg/L comes back (pace-swrcb2-hour)", () => {
    const hour = runHour(35, { cadence, leastSpacingMicros: 500_000 });
    expect(hour).toEqual({ contacts: 2_100, strokes: 4_800, shed: 0 });
    const solutionMl = hour.strokes * ML_PER_STROKE;
    expect(solutionMl).toBe(2_400);
    expect(Math.abs(doseByRates(solutionMl / 60, 35) - 0.72)).toBeLessThan(0.005);
    expect(Math.abs(doseByVolumes(solutionMl, hour.contacts * GAL_PER_CONTACT) - 0.72)).toBeLessThan(0.005);
  });

  test("a cap of 60 strokes a minute gives 0.54 mg/L at 35 gal/min, the rest shed (pace-swrcb2-cap)", () => {
    const hour = runHour(35, { cadence, leastSpacingMicros: 1_000_000 });
    const dose = doseByVolumes(hour.strokes * ML_PER_STROKE, hour.contacts * GAL_PER_CONTACT);
    expect(hour.contacts).toBe(2_100);
    expect(Math.abs(dose / 0.54 - 1)).toBeLessThan(0.005);
    // 80 − 60 strokes a minute, less what may still be owed at the end.
    expect(hour.shed).toBeGreaterThan(1_200 - 35);
    expect(hour.shed).toBeLessThanOrEqual(1_200);
  });

  test("under that cap it stays proportional up to 26.25 gal/min, and not beyond (pace-swrcb2-cap)", () => {
    const atMost = runHour(26.25, { cadence, leastSpacingMicros: 1_000_000 });
    expect(atMost.shed).toBe(0);
    const dose = doseByVolumes(atMost.strokes * ML_PER_STROKE, atMost.contacts * GAL_PER_CONTACT);
    expect(Math.abs(dose / 0.72 - 1)).toBeLessThan(0.005);
    expect(runHour(27.25, { cadence, leastSpacingMicros: 1_000_000 }).shed).toBeGreaterThan(0);
  });
});
