/**
 * What does an even feed buy, and what does a long divide at low flow cost? The pacer's own strokes, in the pipe.
 *
 * The figures are those of an idealised pipe, worked out here; nobody published them. They are pinned so that a change
 * of cadence or pipe shows, and so that the documentation quotes what is true.
 */
import { expect, test } from "vitest";
import { runModel } from "../../harness/devices/model.js";
import { drivePipe, type PassingEvent } from "../../lib/dosing/drive-pipe.js";
import { newPipe, type PipeFigures } from "../../lib/dosing/pipe.js";
import { quantity } from "../../lib/dosing/quantity.js";
import { type Cadence, validateSettings } from "../../lib/pacing/index.js";

interface Case {
  readonly strokes: number;
  readonly contacts: number;
  readonly cadence: Cadence;
  readonly contactLitres: number;
  readonly litresPerMin: number;
  readonly mixingLitres: number;
  readonly graceSeconds?: number;
}

/** Runs the pacer at a steady flow and follows its strokes, each worth 1 mg/L of the water it is for. */
function inThePipe(given: Case): PipeFigures {
  const { strokes, contacts, contactLitres, graceSeconds = 90 } = given;
  const contactMicros = Math.round((contactLitres / given.litresPerMin) * 60_000_000);
  const verdict = validateSettings({
    strokes,
    contacts,
    cadence: given.cadence,
    leastSpacingMicros: 500_000,
    graceMicros: graceSeconds * 1_000_000,
    silentMicros: 0,
  });
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  const warmContacts = Math.ceil(400 / contacts) * contacts;
  const pipe = newPipe({
    mixingVolume: quantity("volume", given.mixingLitres, "L"),
    tanks: 3,
    strokeMass: quantity("mass", (contactLitres * contacts) / strokes, "mg"),
    wanted: quantity("dose", 1, "mg/L"),
    countFromMicros: warmContacts * contactMicros,
  });
  const driver = drivePipe(pipe, quantity("volume", contactLitres, "L"));
  const run = runModel(verdict.settings, (event: PassingEvent) => {
    driver.take(event);
  });
  const last = warmContacts * 2;
  for (let k = 1; k <= last; k++) run.give({ kind: "contact", atMicros: k * contactMicros });
  driver.end(last * contactMicros);
  return pipe.figures();
}

function shown(given: Case): readonly (number | undefined)[] {
  const { peakToMean, lowestMgPerLitre, under } = inThePipe(given);
  const round = (value: number | undefined) => value && Math.round(value * 1_000) / 1_000;
  return [peakToMean, lowestMgPerLitre, under[1]?.share, under[2]?.share].map(round);
}

const MANY: Omit<Case, "cadence"> = {
  strokes: 10,
  contacts: 1,
  contactLitres: 100,
  litresPerMin: 100,
  mixingLitres: 60,
};
const LONG: Omit<Case, "cadence"> = {
  strokes: 1,
  contacts: 10,
  contactLitres: 10,
  litresPerMin: 5,
  mixingLitres: 60,
};

// Peak to mean, lowest over wanted, share of the water under 80 % and under 50 % of the wanted dose.
test.each<[string, Case, readonly number[]]>([
  [
    "ten strokes a contact: spread leaves next to nothing uneven",
    { ...MANY, cadence: "spread" },
    [1.001, 0.999, 0, 0],
  ],
  ["prompt leaves a third of the water short", { ...MANY, cadence: "prompt" }, [1.467, 0.448, 0.343, 0.095]],
  ["five times the mixing volume: spread", { ...MANY, mixingLitres: 300, cadence: "spread" }, [1, 1, 0, 0]],
  [
    "five times the mixing volume: prompt is good enough",
    { ...MANY, mixingLitres: 300, cadence: "prompt" },
    [1.007, 0.992, 0, 0],
  ],
  [
    "contacts further apart than the grace: spread is little better than prompt",
    { ...MANY, litresPerMin: 5, cadence: "spread" },
    [1.468, 0.445, 0.343, 0.096],
  ],
  [
    "contacts further apart than the grace: prompt",
    { ...MANY, litresPerMin: 5, cadence: "prompt" },
    [1.472, 0.426, 0.343, 0.101],
  ],
  [
    "a grace as long as the longest interval brings spread back",
    { ...MANY, litresPerMin: 5, graceSeconds: 1_200, cadence: "spread" },
    [1.001, 0.999, 0, 0],
  ],
  [
    "one stroke for ten contacts: spread buys nothing",
    { ...LONG, cadence: "spread" },
    [1.472, 0.426, 0.343, 0.101],
  ],
  ["one stroke for ten contacts: prompt", { ...LONG, cadence: "prompt" }, [1.472, 0.426, 0.343, 0.101]],
  [
    "ten strokes of a tenth of the strength instead",
    { ...LONG, strokes: 10, cadence: "spread" },
    [1.001, 0.999, 0, 0],
  ],
])("%s", (_, given, expected) => {
  expect(shown(given)).toEqual(expected);
});

test("every real contact is water, whether it earned or not; what was rejected is not", () => {
  const pipe = newPipe({
    mixingVolume: quantity("volume", 10, "L"),
    tanks: 1,
    strokeMass: quantity("mass", 1, "mg"),
    wanted: quantity("dose", 1, "mg/L"),
  });
  const driver = drivePipe(pipe, quantity("volume", 5, "L"));
  driver.take({ kind: "counted", atMicros: 0, contacts: 1 });
  driver.take({ kind: "ignored", atMicros: 10_000_000, contacts: 1 });
  driver.take({ kind: "rejected", atMicros: 11_000_000, contacts: 1 });
  driver.take({ kind: "counted", atMicros: 30_000_000, contacts: 2 });
  driver.end(60_000_000);
  expect(pipe.figures().litres).toBeCloseTo(15, 12);
});

test("a stroke falls into the flow of its own time, and after the last contact into still water", () => {
  const terms = {
    mixingVolume: quantity("volume", 10, "L"),
    tanks: 1,
    strokeMass: quantity("mass", 10, "mg"),
    wanted: quantity("dose", 1, "mg/L"),
  };
  const pipe = newPipe(terms);
  const driver = drivePipe(pipe, quantity("volume", 5, "L"));
  driver.take({ kind: "counted", atMicros: 0, contacts: 1 });
  driver.take({ kind: "paced", atMicros: 4_000_000 });
  driver.take({ kind: "counted", atMicros: 10_000_000, contacts: 1 });
  driver.take({ kind: "primed", atMicros: 12_000_000 });
  driver.end(60_000_000);
  // 6 s at 0.5 L/s through 10 L, then one more stroke of 1 mg/L.
  expect(pipe.mgPerLitre).toBeCloseTo(Math.exp(-0.3) + 1, 12);
  const { fedMg, outMg, heldMg } = pipe.figures().balance;
  expect(fedMg - outMg - heldMg).toBeCloseTo(0, 12);
});

test("a feed that its mixing cannot even out is never steady", () => {
  expect(inThePipe({ ...MANY, cadence: "spread" }).steadyMicros).toBeDefined();
  expect(inThePipe({ ...LONG, cadence: "spread" }).steadyMicros).toBeUndefined();
});
