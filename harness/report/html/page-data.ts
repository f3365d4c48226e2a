/**
 * What does the page's script get to draw? Everything reckoned once, so that page and static drawings agree.
 *
 * Harness layer; pure, shared with the page. Times in µs. On the way into the page, places of buckets are written as
 * steps from one to the next, and what is no number as null.
 */
import type { View } from "./columns.js";
import type { DownstreamSeries, Moment, RunSeries } from "./series.js";

export interface PageData {
  readonly run: RunSeries;
  /** The whole run, with a little room at either end. */
  readonly whole: View;
  readonly moments: readonly Moment[];
  /** Strokes a minute. */
  readonly cap: number;
  readonly rateTop: number;
  readonly owedLimit: number;
  /** False where the limit is so far above what was owed that showing it would flatten the row. */
  readonly owedLimitShown: boolean;
  readonly owedTop: number;
  readonly downstream: Downstream | undefined;
  /** Descriptions of drawings. */
  readonly words: { readonly timeline: string };
}

/** Concentrations in mg/L. */
interface Downstream {
  readonly series: DownstreamSeries;
  readonly wanted: number;
  readonly top: number;
}

interface Series {
  readonly widthMicros: number;
  readonly at: readonly number[];
  readonly columns: { readonly [name: string]: readonly number[] };
}

/** As it stands in the page. */
export function packed(data: PageData): object {
  const { run, downstream } = data;
  return {
    ...data,
    run: packSeries(run),
    downstream: downstream && { ...downstream, series: packSeries(downstream.series) },
  };
}

/** Back from the page's text. */
export function unpacked(text: string): PageData {
  const data = JSON.parse(text) as PageData;
  const { run, downstream } = data;
  return {
    ...data,
    run: unpackSeries(run) as unknown as RunSeries,
    downstream: downstream && {
      ...downstream,
      series: unpackSeries(downstream.series) as unknown as DownstreamSeries,
    },
  };
}

function packSeries({ widthMicros, at, columns }: Series): Series {
  return {
    widthMicros,
    at: at.map((place, i) => place - (at[i - 1] ?? 0)),
    columns: mapped(columns, (value) => (Number.isInteger(value) ? value : Number(value.toPrecision(6)))),
  };
}

function unpackSeries({ widthMicros, at, columns }: Series): Series {
  let place = 0;
  return {
    widthMicros,
    at: at.map((step) => (place += step)),
    // What was NaN comes back as null.
    columns: mapped(columns, (value: number | null) => value ?? NaN),
  };
}

function mapped(columns: Series["columns"], map: (value: number) => number): Series["columns"] {
  return Object.fromEntries(Object.entries(columns).map(([name, values]) => [name, values.map(map)]));
}
