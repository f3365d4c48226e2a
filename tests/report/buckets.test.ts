/**
 * Is the worst of a run still there, however much of it was merged, and whatever stretch is looked at?
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { newBuckets } from "../../harness/report/html/buckets.js";
import { bandOf, binsOf } from "../../harness/report/html/columns.js";
import { packed, type PageData, unpacked } from "../../harness/report/html/page-data.js";
import { RUN_COLUMNS, type RunSeries } from "../../harness/report/html/series.js";

interface Told {
  readonly atMicros: number;
  readonly owed: number;
  readonly spacing: number;
}

/** Runs with gaps of a microsecond up to an hour, far longer than the few buckets that they are kept in. */
const runs = fc
  .array(
    fc.record({
      gap: fc.oneof(fc.integer({ min: 1, max: 50 }), fc.integer({ min: 1, max: 3_600_000_000 })),
      owed: fc.nat(1_000),
      spacing: fc.integer({ min: 1, max: 10_000_000 }),
    }),
    { minLength: 1, maxLength: 120 },
  )
  .map((steps) => {
    let atMicros = 0;
    return steps.map(({ gap, owed, spacing }): Told => ({ atMicros: (atMicros += gap), owed, spacing }));
  });
const sizes = fc.integer({ min: 2, max: 24 });

function kept(told: readonly Told[], most: number): RunSeries {
  const buckets = newBuckets(RUN_COLUMNS, most);
  for (const { atMicros, owed, spacing } of told) {
    buckets.reach(atMicros);
    buckets.put("contacts", 1);
    for (const name of ["owedLeast", "owedMost", "owedLast"] as const) buckets.put(name, owed);
    for (const name of ["spacingLeast", "spacingMost"] as const) buckets.put(name, spacing);
  }
  return buckets.kept();
}

const greatest = (values: Iterable<number>): number =>
  Math.max(...[...values].filter((value) => !Number.isNaN(value)));
const least = (values: Iterable<number>): number =>
  Math.min(...[...values].filter((value) => !Number.isNaN(value)));

describe("what is kept", () => {
  test("never hides the most owed or the least spacing, however few buckets there are", () => {
    fc.assert(
      fc.property(runs, sizes, (told, most) => {
        const { at, columns } = kept(told, most);
        expect(at.length).toBeLessThanOrEqual(most);
        expect(greatest(columns.owedMost)).toBe(Math.max(...told.map(({ owed }) => owed)));
        expect(least(columns.owedLeast)).toBe(Math.min(...told.map(({ owed }) => owed)));
        expect(least(columns.spacingLeast)).toBe(Math.min(...told.map(({ spacing }) => spacing)));
        expect(columns.contacts.reduce((all, one) => all + one, 0)).toBe(told.length);
      }),
    );
  });

  test("is exact to the microsecond as long as there are buckets enough", () => {
    const told = [5, 6, 7_000_000_000].map((atMicros, i) => ({ atMicros, owed: i, spacing: 1 }));
    const { at, widthMicros, columns } = kept(told, 8);
    expect({ at, widthMicros, owed: columns.owedMost }).toEqual({
      at: [5, 6, 7_000_000_000],
      widthMicros: 1,
      owed: [0, 1, 2],
    });
  });

  test("comes back from the page as it was put in", () => {
    fc.assert(
      fc.property(runs, sizes, (told, most) => {
        const run = kept(told, most);
        const data = { run, downstream: undefined } as unknown as PageData;
        expect(unpacked(JSON.stringify(packed(data))).run).toEqual(run);
      }),
    );
  });
});

describe("what is drawn of a stretch", () => {
  const views = fc.tuple(
    fc.double({ min: 0, max: 1, noNaN: true }),
    fc.double({ min: 0, max: 1, noNaN: true }),
  );

  test("shows the worst of every moment in it, in any number of columns", () => {
    fc.assert(
      fc.property(runs, sizes, views, fc.integer({ min: 1, max: 300 }), (told, most, [a, b], count) => {
        const end = told.at(-1)?.atMicros ?? 0;
        const view = { fromMicros: Math.min(a, b) * end, toMicros: Math.max(a, b) * end };
        const inView = told.filter(
          ({ atMicros }) => atMicros >= view.fromMicros && atMicros <= view.toMicros,
        );
        fc.pre(inView.length > 0 && view.toMicros > view.fromMicros);
        const run = kept(told, most);
        const owed = bandOf(run, "owed", view, count);
        const spacing = bandOf(run, "spacing", view, count);
        expect(greatest(owed.most)).toBeGreaterThanOrEqual(Math.max(...inView.map((one) => one.owed)));
        expect(least(owed.least)).toBeLessThanOrEqual(Math.min(...inView.map((one) => one.owed)));
        expect(least(spacing.least)).toBeLessThanOrEqual(Math.min(...inView.map((one) => one.spacing)));
      }),
    );
  });

  test("of the whole run shows its very worst, and no worse", () => {
    fc.assert(
      fc.property(runs, sizes, fc.integer({ min: 1, max: 300 }), (told, most, count) => {
        const run = kept(told, most);
        const view = { fromMicros: 0, toMicros: told.at(-1)?.atMicros ?? 0 };
        expect(greatest(bandOf(run, "owed", view, count).most)).toBe(
          Math.max(...told.map(({ owed }) => owed)),
        );
        expect(least(bandOf(run, "spacing", view, count).least)).toBe(
          Math.min(...told.map(({ spacing }) => spacing)),
        );
      }),
    );
  });

  test("loses no contact to the edges of its bins", () => {
    fc.assert(
      fc.property(runs, sizes, fc.integer({ min: 1, max: 200 }), (told, most, count) => {
        const bins = binsOf(kept(told, most), { fromMicros: 0, toMicros: told.at(-1)?.atMicros ?? 0 }, count);
        expect(bins.contacts.reduce((all, one) => all + one, 0)).toBe(told.length);
      }),
    );
  });

  test("keeps what is owed until it is told anew", () => {
    const told = [0, 100, 900].map((atMicros, i) => ({ atMicros, owed: 3 - i, spacing: 1 }));
    const { most } = bandOf(kept(told, 8), "owed", { fromMicros: 0, toMicros: 1_000 }, 10);
    expect([...most]).toEqual([3, 2, 2, 2, 2, 2, 2, 2, 2, 1]);
  });
});
