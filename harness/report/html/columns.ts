/**
 * How is a stretch of a run brought down to what a screen can show? Harness layer; pure, and runs in the page too.
 *
 * Values become one most and one least a column of the screen, counts one sum a bin of time. A bucket counts for every
 * column that it touches, so that the worst of what is kept is in every picture that covers it.
 */
import type { DownstreamSeries, RunSeries } from "./series.js";

/** A stretch of time, µs. */
export interface View {
  readonly fromMicros: number;
  readonly toMicros: number;
}

/** The lowest and highest of a value in each column of a view; NaN where there was none. */
export interface Band {
  readonly least: Float64Array;
  readonly most: Float64Array;
}

/** Which columns of the run give a band, and whether the value lasts until it is told again. */
const BANDS = {
  owed: { least: "owedLeast", most: "owedMost", last: "owedLast" },
  spacing: { least: "spacingLeast", most: "spacingMost", last: undefined },
} as const;

export function bandOf(run: RunSeries, name: keyof typeof BANDS, view: View, count: number): Band {
  const { least, most, last } = BANDS[name];
  const { columns } = run;
  const values = { least: columns[least], most: columns[most], last: last && columns[last] };
  return band(run, { ...values, reachesBack: name === "spacing" }, view, count);
}

export function downstreamBand(series: DownstreamSeries, view: View, count: number): Band {
  return band(series, { ...series.columns, reachesBack: false }, view, count);
}

interface Values {
  readonly least: readonly number[];
  readonly most: readonly number[];
  readonly last: readonly number[] | undefined;
  /** Each value is a time that ends here: where it is a single one, it holds for all that time. */
  readonly reachesBack: boolean;
}

function band({ at, widthMicros }: Spread, values: Values, view: View, count: number): Band {
  const out = { least: new Float64Array(count).fill(NaN), most: new Float64Array(count).fill(NaN) };
  const place = columnOf(view, count);
  let lasting = NaN;
  let next = 0;
  const carryTo = (column: number): void => {
    for (; next < Math.min(column, count); next++) note(out, next, lasting, lasting);
  };
  for (let i = firstTold(values.last, firstFrom(at, widthMicros, view.fromMicros)); i < at.length; i++) {
    const startMicros = (at[i] as number) * widthMicros;
    const [least, most] = [values.least[i] as number, values.most[i] as number];
    const sinceMicros = values.reachesBack && least === most ? startMicros - least : startMicros;
    if (sinceMicros > view.toMicros) {
      // The next stroke after the view may still reach back into it.
      if (values.reachesBack && Number.isNaN(least)) continue;
      break;
    }
    const [from, to] = [place(sinceMicros), place(startMicros + widthMicros - 1)];
    if (to >= 0) {
      carryTo(from);
      for (let column = Math.max(0, from); column <= Math.min(to, count - 1); column++) {
        note(out, column, least, most);
      }
      next = Math.max(next, to + 1);
    }
    const last = values.last?.[i] ?? NaN;
    if (!Number.isNaN(last)) lasting = last;
  }
  carryTo(count);
  return out;
}

/** The last bucket before `i` that tells what lasts from then on. */
function firstTold(last: readonly number[] | undefined, i: number): number {
  let from = i;
  while (last !== undefined && from > 0) {
    from -= 1;
    if (!Number.isNaN(last[from])) break;
  }
  return from;
}

function note({ least, most }: Band, column: number, low: number, high: number): void {
  if (!(low >= (least[column] as number)))
    least[column] = Number.isNaN(low) ? (least[column] as number) : low;
  if (!(high <= (most[column] as number)))
    most[column] = Number.isNaN(high) ? (most[column] as number) : high;
}

/** Counts in bins of equal width, the first of which starts at `fromMicros`. */
export interface Bins {
  readonly fromMicros: number;
  readonly widthMicros: number;
  readonly contacts: Float64Array;
  readonly paced: Float64Array;
  readonly primed: Float64Array;
  readonly shed: Float64Array;
}

/** Bins that a clock can tell, at most `most` of them, never cutting a bucket. */
export function binsOf(run: RunSeries, view: View, most: number): Bins {
  const widthMicros = binWidth(run.widthMicros, (view.toMicros - view.fromMicros) / most);
  const first = Math.floor(view.fromMicros / widthMicros);
  const count = Math.max(1, Math.floor(view.toMicros / widthMicros) - first + 1);
  const bins = {
    fromMicros: first * widthMicros,
    widthMicros,
    contacts: new Float64Array(count),
    paced: new Float64Array(count),
    primed: new Float64Array(count),
    shed: new Float64Array(count),
  };
  const { at, columns } = run;
  for (let i = firstFrom(at, run.widthMicros, bins.fromMicros); i < at.length; i++) {
    const bin = Math.floor(((at[i] as number) * run.widthMicros) / widthMicros) - first;
    if (bin >= count) break;
    for (const name of ["contacts", "paced", "primed", "shed"] as const) {
      bins[name][bin] = (bins[name][bin] as number) + (columns[name][i] as number);
    }
  }
  return bins;
}

const S = 1_000_000;
const NICE: readonly number[] = [
  ...[1, 10, 100, 1_000, 10_000, 100_000].flatMap((unit) => [unit, 2 * unit, 5 * unit]),
  ...[1, 2, 5, 10, 15, 30].map((seconds) => seconds * S),
  ...[1, 2, 5, 10, 15, 30].map((minutes) => minutes * 60 * S),
  ...[1, 2, 3, 6, 12, 24, 48, 168].map((hours) => hours * 3_600 * S),
];

/** The narrowest round width that is at least `leastMicros` and a multiple of a bucket. */
export function binWidth(bucketMicros: number, leastMicros: number): number {
  const nice = NICE.find((width) => width >= leastMicros && width % bucketMicros === 0);
  return nice ?? bucketMicros * 2 ** Math.ceil(Math.log2(Math.max(1, leastMicros / bucketMicros)));
}

/** A stretch in which something stood. */
export interface Stretch {
  readonly fromMicros: number;
  readonly toMicros: number;
}

/** When one bit of what can stand was on, within the view; to the width of a bucket. */
export function stretchesOf(run: RunSeries, bit: number, view: View): Stretch[] {
  const { at, widthMicros, columns } = run;
  const found: Stretch[] = [];
  let sinceMicros: number | undefined;
  const close = (toMicros: number): void => {
    if (sinceMicros !== undefined && toMicros >= view.fromMicros && sinceMicros <= view.toMicros) {
      found.push({ fromMicros: sinceMicros, toMicros });
    }
    sinceMicros = undefined;
  };
  at.forEach((place, i) => {
    const standing = columns.standing[i] as number;
    const startMicros = place * widthMicros;
    if (((columns.stood[i] as number) & bit) !== 0) sinceMicros ??= startMicros;
    if (!Number.isNaN(standing) && (standing & bit) === 0)
      close(startMicros + (widthMicros > 1 ? widthMicros : 0));
  });
  close(Math.max(view.toMicros, sinceMicros ?? 0));
  return found;
}

interface Spread {
  readonly at: readonly number[];
  readonly widthMicros: number;
}

/** The first bucket that ends after a time. */
function firstFrom(at: readonly number[], widthMicros: number, atMicros: number): number {
  let low = 0;
  let high = at.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (((at[middle] as number) + 1) * widthMicros <= atMicros) low = middle + 1;
    else high = middle;
  }
  return low;
}

function columnOf({ fromMicros, toMicros }: View, count: number): (atMicros: number) => number {
  const perMicro = count / Math.max(1, toMicros - fromMicros);
  return (atMicros) => {
    const column = Math.floor((atMicros - fromMicros) * perMicro);
    // The end of the view belongs to its last column.
    return column === count && atMicros <= toMicros ? count - 1 : column;
  };
}
