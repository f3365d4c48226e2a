/**
 * What a report is gathered from, and how it reads: bins, stretches, words, and 80 columns.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { newBins, BINS_MOST } from "../../harness/report/bins.js";
import { tallyCap } from "../../harness/report/cap-tally.js";
import { chartOf } from "../../harness/report/chart.js";
import { tallyDry } from "../../harness/report/dry-tally.js";
import { CONTACTS, STROKES } from "../../harness/report/tally.js";
import { clock, COLUMNS, many, span, wrapped } from "../../harness/report/words.js";
import { DAY, LAST_MICROS, SECOND } from "../../lib/pacing/index.js";

test("bins keep every count however far time goes, in no more bins than the most", () => {
  const events = fc.array(
    fc.record({
      atMicros: fc.oneof(fc.nat({ max: 2_000_000_000 }), fc.integer({ min: 0, max: LAST_MICROS })),
      count: fc.nat({ max: 9 }),
    }),
  );
  fc.assert(
    fc.property(events, (unsorted) => {
      const bins = newBins(1);
      const sorted = [...unsorted].sort((a, b) => a.atMicros - b.atMicros);
      for (const { atMicros, count } of sorted) bins.add(0, atMicros, count);
      const [counts = []] = bins.counts;
      const expected = counts.map((_, i) =>
        sorted
          .filter(({ atMicros }) => Math.floor(atMicros / bins.widthMicros) === i)
          .reduce((sum, { count }) => sum + count, 0),
      );
      expect(counts).toEqual(expected);
      expect(counts.length).toBeLessThanOrEqual(BINS_MOST);
      expect(counts.reduce((sum, count) => sum + count, 0)).toBe(
        sorted.reduce((sum, { count }) => sum + count, 0),
      );
    }),
  );
});

test("a day has bins of 20 minutes", () => {
  const bins = newBins(1);
  bins.add(0, DAY - 1, 1);
  expect(bins.widthMicros).toBe(1_200 * SECOND);
});

test("a chart fits the screen, and shows the least count as something and none as nothing", () => {
  const bins = newBins(2);
  bins.add(CONTACTS, 0, 1);
  bins.add(CONTACTS, 10 * SECOND, 1_000_000);
  bins.add(STROKES, 71 * SECOND, 3);
  const chart = chartOf(bins);
  expect(Math.max(...chart.split("\n").map((line) => line.length))).toBeLessThanOrEqual(COLUMNS);
  expect(chart.split("\n").filter((line) => /[0M]┤/.test(line))).toEqual([
    "   1M┤          █",
    "    0┤█         █",
    "    0┤                                                                       █",
  ]);
  expect(chart).toContain("contacts per 1 s, 00:00:00 to 00:01:12");
});

test("an empty run has no chart", () => {
  expect(chartOf(newBins(2))).toBe("");
});

test("strokes held back by the cap make stretches; a primed one and a pause end them", () => {
  const cap = tallyCap();
  const strokes: [number, "paced" | "primed"][] = [
    ...[0, 100, 200].map((at): [number, "paced"] => [at, "paced"]), // two waited
    ...[310, 410].map((at): [number, "paced"] => [at, "paced"]), // a little late does not end it
    [1_000, "paced"], // a pause does
    [1_100, "primed"], // not held back: it was not owed
    [1_200, "paced"], // waited for the primed one
  ];
  for (const [atMicros, kind] of strokes) cap.stroke({ atMicros, kind }, 100);
  expect(cap.tally).toEqual({
    strokes: 4,
    stretches: 2,
    firstMicros: 0,
    longestMicros: 410,
    longestAtMicros: 0,
  });
});

test.each<[string, [number, "water" | "stroke"][], unknown]>([
  ["no water", [[1, "stroke"]], undefined],
  [
    "one contact, paid at once",
    [
      [1, "water"],
      [1, "stroke"],
    ],
    { contacts: 1, fromMicros: 1, untilMicros: 1 },
  ],
  [
    "more contacts win over more time",
    [
      [1, "water"],
      [90, "stroke"],
      [91, "water"],
      [92, "water"],
      [93, "stroke"],
    ],
    { contacts: 2, fromMicros: 91, untilMicros: 93 },
  ],
  [
    "of as many contacts the longer wins",
    [
      [1, "water"],
      [5, "stroke"],
      [6, "water"],
      [30, "stroke"],
      [31, "water"],
      [33, "stroke"],
    ],
    { contacts: 1, fromMicros: 6, untilMicros: 30 },
  ],
  [
    "an end without a stroke counts to the last contact",
    [
      [1, "water"],
      [2, "stroke"],
      [3, "water"],
      [8, "water"],
    ],
    { contacts: 2, fromMicros: 3, untilMicros: 8 },
  ],
])("the longest stretch of water without a stroke: %s", (_, events, expected) => {
  const dry = tallyDry();
  for (const [atMicros, kind] of events) {
    if (kind === "water") dry.water(atMicros, 1);
    else dry.stroke(atMicros);
  }
  expect(dry.longest()).toEqual(expected);
});

test.each([
  [0, "0 ms", "00:00:00"],
  [1, "0.001 ms", "00:00:00"],
  [12_300, "12.3 ms", "00:00:00"],
  [34_200_000, "34.2 s", "00:00:34"],
  [59_990_000, "60 s", "00:00:59"],
  [725_000_000, "12 min 5 s", "00:12:05"],
  [27_360_000_000, "7 h 36 min", "07:36:00"],
  [2 * DAY + 11_045_000_000, "2 d 3 h", "2 d 03:04:05"],
])("%i µs last %s, and are %s on the clock", (micros, lasting, time) => {
  expect([span(micros), clock(micros)]).toEqual([lasting, time]);
});

test("a count of one is of one thing", () => {
  expect([many(0, "stroke"), many(1, "stroke"), many(12_345, "stroke")]).toEqual([
    "0 strokes",
    "1 stroke",
    "12,345 strokes",
  ]);
});

test("text of any words is broken into lines that fit, with no word lost and no number cut from its unit", () => {
  const words = fc.array(
    fc.oneof(
      fc.stringMatching(/^[a-z]{4,12}$/),
      fc.nat().map((n) => `${n} ms`),
    ),
    { minLength: 1 },
  );
  fc.assert(
    fc.property(words, (parts) => {
      const lines = wrapped(parts.join(" "), "  first   ").split("\n");
      expect(lines.map((line) => line.trim()).join(" ")).toBe(`first   ${parts.join(" ")}`);
      expect(Math.max(...lines.map((line) => line.length))).toBeLessThanOrEqual(COLUMNS);
      expect(lines.filter((line) => /^ms( |$)/.test(line.trim()))).toEqual([]);
    }),
  );
});
