/**
 * How is a run of any length kept so that it can be looked into? Buckets of time that merge as they fill. Harness layer.
 *
 * Only buckets in which something happened are kept, at most {@link BUCKETS_MOST} of them. They start one microsecond
 * wide, so a short run is kept exactly; when there are too many, all become wider. Each column says how two values
 * become one, so that a least, a most and a sum stay what they are, however often buckets merge.
 */
import { DAY, HOUR, type Micros, MINUTE, SECOND } from "../../../lib/pacing/index.js";

/** Most buckets that are kept; a report of this many is some 4 MB. */
export const BUCKETS_MOST = 65_536;

/** Widths that a clock can tell, each a multiple of the one before; past a day it goes on in doublings. */
const WIDTHS: readonly Micros[] = [
  ...[1, 1_000].flatMap((unit) => [1, 2, 4, 20, 100, 500].map((times) => times * unit)),
  ...[1, 2, 6, 30].map((times) => times * SECOND),
  ...[1, 2, 6, 30].map((times) => times * MINUTE),
  ...[1, 2, 6, 12].map((times) => times * HOUR),
  DAY,
];

/** How the earlier and the later of two values become one. */
export type Merge = "sum" | "least" | "most" | "last" | "any";

/** The columns of one kind of bucket: name and merging. */
export type Columns = { readonly [name: string]: Merge };

export interface Buckets<C extends Columns> {
  /** The bucket at a time, never earlier than the last that was asked for; to be filled by `put`. */
  reach(atMicros: Micros): void;
  /** Merges a value into a column of the bucket that was reached. */
  put(name: keyof C, value: number): void;
  readonly kept: () => Kept<C>;
}

/** What was kept; NaN where nothing was put. A bucket `i` covers `at[i] · widthMicros` up to, but not including, the next multiple. */
export interface Kept<C extends Columns> {
  readonly widthMicros: Micros;
  readonly at: readonly number[];
  readonly columns: { readonly [name in keyof C]: readonly number[] };
}

/** What a bucket starts with, for each merging. */
const EMPTY: { readonly [merge in Merge]: number } = {
  sum: 0,
  least: Infinity,
  most: -Infinity,
  last: NaN,
  any: 0,
};

/** Starts with no buckets. */
export function newBuckets<C extends Columns>(columns: C, most = BUCKETS_MOST): Buckets<C> {
  const names = Object.keys(columns) as (keyof C)[];
  const at = new Float64Array(most);
  const values = Object.fromEntries(names.map((name) => [name, new Float64Array(most)])) as {
    [name in keyof C]: Float64Array;
  };
  let widthMicros = 1;
  let count = 0;

  const widen = (): void => {
    const before = widthMicros;
    widthMicros = WIDTHS.find((width) => width > before) ?? 2 * before;
    const times = widthMicros / before;
    let into = -1;
    for (let from = 0; from < count; from++) {
      const place = Math.floor((at[from] as number) / times);
      const joins = into >= 0 && at[into] === place;
      if (!joins) at[(into += 1)] = place;
      for (const name of names) {
        const column = values[name];
        const value = column[from] as number;
        column[into] = joins ? merged(columns[name] as Merge, column[into] as number, value) : value;
      }
    }
    count = into + 1;
  };

  return {
    reach(atMicros) {
      if (count > 0 && Math.floor(atMicros / widthMicros) <= (at[count - 1] as number)) return;
      while (count === most) widen();
      const place = Math.floor(atMicros / widthMicros);
      if (count > 0 && place <= (at[count - 1] as number)) return;
      at[count] = place;
      for (const name of names) values[name][count] = EMPTY[columns[name] as Merge];
      count += 1;
    },
    put(name, value) {
      const column = values[name];
      column[count - 1] = merged(columns[name] as Merge, column[count - 1] as number, value);
    },
    kept: () => ({
      widthMicros,
      at: Array.from(at.subarray(0, count)),
      columns: Object.fromEntries(
        names.map((name) => [name, Array.from(values[name].subarray(0, count), told)]),
      ) as unknown as Kept<C>["columns"],
    }),
  };
}

/** What nothing was put into is NaN. */
function told(value: number): number {
  return Number.isFinite(value) ? value : NaN;
}

function merged(merge: Merge, earlier: number, later: number): number {
  switch (merge) {
    case "sum":
      return earlier + later;
    case "least":
      return later < earlier ? later : earlier;
    case "most":
      return later > earlier ? later : earlier;
    case "last":
      return later;
    case "any":
      return earlier | later;
  }
}
