/**
 * What feeds are there to look at? Statuses for the tests of the view. Test support.
 */
import fc from "fast-check";
import type { DriveStatus, Trouble } from "../../harness/drive/status.js";
import { ALARMS, INHIBIT_CAUSES, SHED_CAUSES, type ShedCause } from "../../lib/pacing/index.js";

const MOST = Number.MAX_SAFE_INTEGER;

/** A feed on which nothing is wrong. */
export const CALM: DriveStatus = {
  elapsedMicros: 754_000_000,
  meter: { spec: "serial:/dev/ttyUSB0", name: "well meter", isLost: false },
  pump: { spec: "serial:/dev/ttyUSB1", name: "well pump", isLost: false },
  journal: "feed-journal",
  ratio: "3:2",
  contacts: 1_234,
  ignored: 5,
  rejected: 6,
  earned: 1_843,
  owed: 1,
  remainder: 1,
  remainderOf: 2,
  paced: 1_842,
  primed: 12,
  shed: { limit: 0, still: 0, hold: 0, inhibit: 0, trip: 0, power: 0 },
  uncertain: 0,
  strokesPerMinute: 58,
  capPerMinute: 120,
  held: false,
  tripped: false,
  priming: false,
  inhibits: [],
  alarms: [],
  troubles: [],
  dose: {
    litres: 1_234.5,
    millilitres: 629.3,
    milligramsPerLitre: 1.18,
    wantedMilligramsPerLitre: 1.2,
  },
};

export const TROUBLE: Trouble = {
  kind: "clock-stepped",
  atMicros: 99_000_000,
  words: "The wall clock was stepped by an hour; pacing does not use it, so nothing changed.",
};

const count = fc.oneof(fc.nat(1_000), fc.nat(MOST), fc.constant(MOST));
const text = fc.oneof(fc.string({ unit: "binary" }), fc.string({ unit: "grapheme", maxLength: 300 }));
const end = fc.record({ spec: text, name: text, isLost: fc.boolean() });
const amount = fc.double({ min: 0, max: 1e12, noNaN: true });

/** Any feed, with names and numbers that no device should have. */
export const anyStatus: fc.Arbitrary<DriveStatus> = fc.record(
  {
    elapsedMicros: count,
    meter: end,
    pump: end,
    journal: text,
    ratio: fc.tuple(fc.nat(65_535), fc.nat(65_535)).map(([m, d]) => `${m}:${d}`),
    contacts: count,
    ignored: count,
    rejected: count,
    earned: count,
    owed: count,
    remainder: count,
    remainderOf: count,
    paced: count,
    primed: count,
    shed: fc.record(
      Object.fromEntries(SHED_CAUSES.map((cause) => [cause, count])) as {
        [cause in ShedCause]: fc.Arbitrary<number>;
      },
    ),
    uncertain: count,
    strokesPerMinute: amount,
    capPerMinute: amount,
    held: fc.boolean(),
    tripped: fc.boolean(),
    priming: fc.boolean(),
    inhibits: fc.subarray([...INHIBIT_CAUSES]),
    alarms: fc.subarray([...ALARMS]),
    troubles: fc.array(fc.record({ kind: fc.constant("journal" as const), atMicros: count, words: text })),
    dose: fc.record({
      litres: amount,
      millilitres: amount,
      milligramsPerLitre: fc.option(amount, { nil: undefined }),
      wantedMilligramsPerLitre: amount,
    }),
  },
  { requiredKeys: Object.keys(CALM).filter((key) => key !== "dose") as (keyof typeof CALM)[] },
);
