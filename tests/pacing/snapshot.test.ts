/**
 * Is everything that must outlive a power cut in the snapshot, and is nothing else ever taken for one?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  copyState,
  newState,
  restoreSnapshot,
  SNAPSHOT_BYTES,
  SNAPSHOT_VERSION,
  type State,
  takeSnapshot,
} from "../../lib/pacing/index.js";
import { valid } from "./kit.js";
import { type Field, FIELDS, type Fields, readFields, withFields } from "./snapshot-kit.js";

const DAY_30 = 30 * 86_400_000_000;
const SETTINGS = valid({ strokes: 3, contacts: 500, guardBudgetStrokes: 1_000 });

/** A state in which every field that is kept has a number of its own. */
const FULL: Readonly<State> = Object.freeze({
  ...newState(SETTINGS),
  nowMicros: 1_000_000,
  contactMicros: 400_000,
  intervalMicros: 70_000,
  guardFullMicros: 1_000_003,
  guardFullRest: 9,
  remainder: 499,
  owed: 12,
  held: 0,
  inhibits: 0,
  tripped: 0,
  lineClosed: 1,
  lineArmed: 1,
  alarms: 0b101,
  counted: 2 ** 40 + 1,
  ignored: 22,
  rejected: 23,
  bounces: 24,
  earned: 1_000 + 12 + 21 + 31 + 41 + 51 + 61 + 71,
  paced: 1_000,
  primed: 26,
  shedLimit: 21,
  shedStill: 31,
  shedHold: 41,
  shedInhibit: 51,
  shedTrip: 61,
  shedPower: 71,
  refused: 27,
});

describe("the layout", () => {
  const bytes = takeSnapshot(FULL);

  test("is TS, the version, the number of fields, the fields, a checksum: 222 bytes", () => {
    expect([bytes.length, SNAPSHOT_BYTES, SNAPSHOT_VERSION]).toEqual([222, 222, 1]);
    expect([...bytes.subarray(0, 4)]).toEqual([0x54, 0x53, 1, 27]);
    expect(FIELDS.length).toBe(27);
  });

  test("keeps every field in its place", () => {
    const { contacts, ageMicros, intervalMicros, guardMicros, guardRest, ...kept } = readFields(bytes);
    const expected = Object.fromEntries(
      Object.keys(kept).map((name) => [name, FULL[name as keyof typeof kept]]),
    );
    expect(kept).toEqual(expected);
    expect({ contacts, ageMicros, intervalMicros, guardMicros, guardRest }).toEqual({
      contacts: 500,
      ageMicros: 600_000,
      intervalMicros: 70_000,
      guardMicros: 3,
      guardRest: 9,
    });
  });

  test("ends with the checksum of all before it, most significant byte first", () => {
    expect(withFields(bytes, {})).toEqual(bytes);
    const [high, low] = bytes.subarray(220);
    expect([high, low]).not.toEqual([low, high]);
  });

  test("does not change the state it is taken of", () => {
    const before = copyState(FULL);
    takeSnapshot(FULL);
    expect(FULL).toEqual(before);
  });

  test.each<{ title: string; over: Partial<State>; fields: Partial<Fields> }>([
    {
      title: "no contact yet: as old as can be told",
      over: newState(SETTINGS, 5),
      fields: { ageMicros: DAY_30 },
    },
    {
      title: "a contact of exactly 30 days ago",
      over: { nowMicros: DAY_30 + 9, contactMicros: 9 },
      fields: { ageMicros: DAY_30 },
    },
    {
      title: "a contact of just less",
      over: { nowMicros: DAY_30 + 9, contactMicros: 10 },
      fields: { ageMicros: DAY_30 - 1 },
    },
    { title: "a contact just now", over: { contactMicros: 1_000_000 }, fields: { ageMicros: 0 } },
    {
      title: "an interval from never",
      over: { intervalMicros: 2 ** 52 },
      fields: { intervalMicros: DAY_30 },
    },
    {
      title: "a guard that is whole just now",
      over: { guardFullMicros: 1_000_000, guardFullRest: 9 },
      fields: { guardMicros: 0, guardRest: 0 },
    },
    {
      title: "a guard that has long been whole",
      over: { guardFullMicros: 7, guardFullRest: 9 },
      fields: { guardMicros: 0, guardRest: 0 },
    },
    {
      title: "a guard that is whole a microsecond from now",
      over: { guardFullMicros: 1_000_001 },
      fields: { guardMicros: 1, guardRest: 9 },
    },
    {
      title: "a guard that is whole only in a hundred days: nothing of it is forgotten",
      over: { guardFullMicros: 1_000_000 + 100 * 86_400_000_000 },
      fields: { guardMicros: 100 * 86_400_000_000 },
    },
  ])("$title", ({ over, fields }) => {
    expect(readFields(takeSnapshot({ ...FULL, ...over }))).toMatchObject(fields);
  });
});

test("a count that is no longer exact is refused in any field, and the last exact one in none of the free ones", () => {
  const bytes = takeSnapshot(FULL);
  const over = (name: Field, value: number): string => refusal(withFields(bytes, { [name]: value }));
  expect(FIELDS.filter((name) => over(name, 2 ** 53) !== "impossible values")).toEqual([]);
  const free: Field[] = [
    "counted",
    "ignored",
    "rejected",
    "bounces",
    "primed",
    "refused",
    "ageMicros",
    "intervalMicros",
  ];
  expect(free.filter((name) => over(name, 2 ** 53 - 1) !== "none")).toEqual([]);
});

function refusal(bytes: ArrayLike<number>): string {
  const restored = restoreSnapshot(SETTINGS, bytes, 5_000_000, 0);
  return restored.ok ? "none" : restored.refusal;
}

describe("a snapshot is refused whole", () => {
  const bytes = takeSnapshot(FULL);

  test("but not as it was taken, nor from any list of bytes", () => {
    expect(refusal(bytes)).toBe("none");
    expect(refusal([...bytes])).toBe("none");
  });

  test("signed bytes are read as the same snapshot", () => {
    const signed = restoreSnapshot(SETTINGS, new Int8Array(bytes.buffer), 5_000_000, 0);
    expect(signed).toEqual(restoreSnapshot(SETTINGS, bytes, 5_000_000, 0));
  });

  test("for every single bit that is wrong, with the reason", () => {
    const unlike: string[] = [];
    for (let i = 0; i < SNAPSHOT_BYTES; i++) {
      for (let bit = 0; bit < 8; bit++) {
        const bad = Uint8Array.from(bytes);
        bad[i] = (bad[i] as number) ^ (1 << bit);
        const expected = i < 2 ? "not a snapshot" : i < 4 ? "unknown version" : "bad checksum";
        const told = refusal(bad);
        if (told !== expected) unlike.push(`byte ${i} bit ${bit}: ${told}`);
      }
    }
    expect(unlike).toEqual([]);
  });

  test("for any two bits, or any burst of 16, that are wrong", () => {
    // A CRC of 16 bits with this polynomial detects all of these in messages this short.
    const place = fc.integer({ min: 4 * 8, max: SNAPSHOT_BYTES * 8 - 17 });
    const flip = (bad: Uint8Array, at: number): void => {
      bad[at >> 3] = (bad[at >> 3] as number) ^ (0x80 >> (at & 7));
    };
    fc.assert(
      fc.property(place, place, fc.integer({ min: 0, max: 0x7fff }), (a, b, burst) => {
        const two = Uint8Array.from(bytes);
        flip(two, a);
        flip(two, b);
        expect(refusal(two)).toBe(a === b ? "none" : "bad checksum");
        const many = Uint8Array.from(bytes);
        flip(many, a);
        for (let i = 0; i < 15; i++) if ((burst >> i) & 1) flip(many, a + 1 + i);
        expect(refusal(many)).toBe("bad checksum");
      }),
      { numRuns: 500 },
    );
  });

  test.each([
    { title: "nothing", bad: [], expected: "wrong length" },
    { title: "a byte too few", bad: bytes.subarray(0, 221), expected: "wrong length" },
    { title: "a byte too many", bad: [...bytes, 0], expected: "wrong length" },
    { title: "blank memory, all zeros", bad: new Uint8Array(222), expected: "not a snapshot" },
    { title: "erased memory, all ones", bad: new Uint8Array(222).fill(255), expected: "not a snapshot" },
    { title: "a later version", bad: [0x54, 0x53, 2, ...bytes.subarray(3)], expected: "unknown version" },
    { title: "more fields", bad: [0x54, 0x53, 1, 28, ...bytes.subarray(4)], expected: "unknown version" },
  ])("$title: $expected", ({ bad, expected }) => {
    expect(refusal(bad)).toBe(expected);
  });
});

describe("values that cannot be are refused, whatever the checksum says", () => {
  const bytes = takeSnapshot(FULL);
  const still = withFields(bytes, { owed: 0, earned: FULL.earned - 12 });

  test.each<{ title: string; from?: Uint8Array; over: Partial<Fields>; sound: boolean }>([
    { title: "a denominator of 0", over: { contacts: 0, remainder: 0 }, sound: false },
    { title: "a denominator of 1", over: { contacts: 1, remainder: 0 }, sound: true },
    { title: "the largest denominator", over: { contacts: 65_535 }, sound: true },
    { title: "a larger one", over: { contacts: 65_536 }, sound: false },
    { title: "a remainder just below the denominator", over: { remainder: 499 }, sound: true },
    { title: "a whole stroke of remainder", over: { remainder: 500 }, sound: false },
    { title: "the most owed", over: { owed: 1_000_000, earned: FULL.earned + 999_988 }, sound: true },
    { title: "more owed", over: { owed: 1_000_001, earned: FULL.earned + 999_989 }, sound: false },
    { title: "held by more than 1", from: still, over: { held: 2 }, sound: false },
    { title: "held", from: still, over: { held: 1 }, sound: true },
    { title: "tripped by more than 1", from: still, over: { tripped: 2 }, sound: false },
    { title: "tripped", from: still, over: { tripped: 1 }, sound: true },
    { title: "every inhibit", from: still, over: { inhibits: 31 }, sound: true },
    { title: "an unknown inhibit", from: still, over: { inhibits: 32 }, sound: false },
    { title: "every alarm", over: { alarms: 2_047 }, sound: true },
    { title: "an unknown alarm", over: { alarms: 2_048 }, sound: false },
    { title: "a line closed by more than 1", over: { lineClosed: 2 }, sound: false },
    { title: "an open line", over: { lineClosed: 0 }, sound: true },
    { title: "a line armed by more than 1", over: { lineArmed: 2 }, sound: false },
    { title: "a line not armed", over: { lineArmed: 0 }, sound: true },
    { title: "held, and strokes owed", over: { held: 1 }, sound: false },
    { title: "inhibited, and strokes owed", over: { inhibits: 1 }, sound: false },
    { title: "tripped, and strokes owed", over: { tripped: 1 }, sound: false },
  ])("$title: sound $sound", ({ from, over, sound }) => {
    expect(refusal(withFields(from ?? bytes, over))).toBe(sound ? "none" : "impossible values");
  });

  test.each<Field>([
    "earned",
    "paced",
    "owed",
    "shedLimit",
    "shedStill",
    "shedHold",
    "shedInhibit",
    "shedTrip",
    "shedPower",
  ])("accounts that do not balance by one in %s", (name) => {
    const fields = readFields(bytes);
    expect(refusal(withFields(bytes, { [name]: fields[name] + 1 }))).toBe("impossible values");
    expect(refusal(withFields(bytes, { [name]: fields[name] - 1 }))).toBe("impossible values");
    const balanced = name === "earned" ? { paced: FULL.paced + 1 } : { earned: FULL.earned + 1 };
    expect(refusal(withFields(bytes, { [name]: fields[name] + 1, ...balanced }))).toBe("none");
  });
});
