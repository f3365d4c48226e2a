/**
 * The lab's state in the address: it comes back as it went, and nothing that cannot be used is lost.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { addressOf, readAddress } from "../../harness/lab/address.js";
import { FIELD_NAMES, type Texts } from "../../harness/lab/fields.js";
import { type LabState, START, WINDOWS, withPress } from "../../harness/lab/state.js";
import { DAY } from "../../lib/pacing/index.js";
import { anyPresses } from "./texts.js";

/** Anything that can be typed into a field; an address holds no half of a surrogate pair. */
const anyText = fc.string({ unit: "grapheme", maxLength: 60 });
const anyState: fc.Arbitrary<LabState> = fc.record({
  texts: fc.record(
    Object.fromEntries(FIELD_NAMES.map((name) => [name, anyText])),
  ) as unknown as fc.Arbitrary<Texts>,
  presses: anyPresses,
  atMicros: fc.integer({ min: 0, max: DAY }),
  windowMicros: fc.constantFrom(...WINDOWS.map(({ micros }) => micros)),
});

describe("address", () => {
  test("any state, whatever was typed, comes back from its address", () => {
    fc.assert(
      fc.property(anyState, (state) => {
        expect(readAddress(`#${addressOf(state)}`)).toEqual({ state, unread: [] });
      }),
    );
  });

  test("an empty address is the start", () => {
    expect(readAddress("")).toEqual({ state: START, unread: [] });
  });

  test.each([
    ["at=abc", "at", "is no moment of the day"],
    ["at=86401", "at", "is no moment of the day"],
    ["window=7", "window", "is no width of the closer look"],
    ["prime=20-10", "prime", "is no list of presses"],
    ["prime=10-20,15-30", "prime", "is no list of presses"],
    ["prime=10-86401", "prime", "is no list of presses"],
    ["prime=1-2-3", "prime", "is no list of presses"],
    ["colour=blue", "colour", "is not known here"],
  ])("%s is complained of with a mend, and stands in the next address again", (pair, name, fault) => {
    const { state, unread } = readAddress(`#${pair}&dose=2+mg%2FL`);
    expect(unread).toEqual([
      { name, text: pair.slice(name.length + 1), fault, mend: expect.stringMatching(/\w/) as string },
    ]);
    expect(state).toEqual({ ...START, texts: { ...START.texts, dose: "2 mg/L" } });
    expect(readAddress(addressOf(state, unread))).toEqual({ state, unread });
  });

  test("any address at all is read without an exception, and a second reading finds the same", () => {
    fc.assert(
      fc.property(fc.string(), (hash) => {
        const first = readAddress(hash);
        expect(readAddress(addressOf(first.state, first.unread))).toEqual(first);
      }),
    );
  });
});

test("a press takes the place of those that it overlaps, and presses stay in order", () => {
  fc.assert(
    fc.property(anyPresses, fc.nat(DAY), fc.nat(DAY), (presses, a, b) => {
      const press = { onMicros: Math.min(a, b), offMicros: Math.max(a, b) };
      const after = withPress({ ...START, presses }, press);
      expect(after.presses).toContainEqual(press);
      expect(readAddress(addressOf(after)).state.presses).toEqual(after.presses);
    }),
  );
});
