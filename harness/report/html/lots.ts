/**
 * How does the dose of one lot of water compare with what was asked? Lots that are large enough to say. Harness layer.
 */
import type { DoseSeries } from "./dose.js";

/** One lot of water. `from` and `to` are contacts since the start. */
export interface Lot {
  readonly from: number;
  readonly to: number;
  /** Strokes. */
  readonly asked: number;
  /** Strokes that one contact of the lot asks for; a lot gains and loses as much at its ends. */
  readonly perContact: number;
  readonly paced: number;
  readonly primed: number;
  /** Strokes fed over strokes asked; 1 is the dose that was asked. */
  readonly part: number;
  readonly aheadLeast: number;
  readonly aheadMost: number;
}

/** A lot asks for at least so many strokes, so that one stroke is no more than a tenth of its dose. */
const STROKES_LEAST = 10;

/** At most `most` lots of equally many contacts (the last may be smaller). */
export function lotsOf({ at, widthMicros, columns }: DoseSeries, most: number): Lot[] {
  const contacts = sum(columns.contacts);
  const asked = sum(columns.asked);
  const least = Math.max(contacts / most, asked > 0 ? (STROKES_LEAST * contacts) / asked : 1);
  const width = Math.max(1, Math.ceil(least / widthMicros)) * widthMicros;
  const lots: Lot[] = [];
  for (let i = 0; i < at.length;) {
    const from = Math.floor(((at[i] as number) * widthMicros) / width) * width;
    const start = i;
    while (i < at.length && (at[i] as number) * widthMicros < from + width) i += 1;
    lots.push(lot(columns, start, i, from));
  }
  return lots;
}

function lot(columns: DoseSeries["columns"], start: number, end: number, from: number): Lot {
  const of = (name: keyof DoseSeries["columns"]): number[] => columns[name].slice(start, end);
  const contacts = sum(of("contacts"));
  const [asked, paced, primed] = [sum(of("asked")), sum(of("paced")), sum(of("primed"))];
  return {
    from,
    to: from + contacts,
    asked,
    perContact: asked / contacts,
    paced,
    primed,
    part: (paced + primed) / asked,
    aheadLeast: Math.min(...of("aheadLeast")),
    aheadMost: Math.max(...of("aheadMost")),
  };
}

function sum(values: readonly number[]): number {
  return values.reduce((all, value) => all + value, 0);
}

/** A lot further off than this part is told, if it is off by more than a stroke, or one contact's, as well. */
const FAR_OFF = 0.1;

export function isFarOff({ part, asked, perContact }: Lot): boolean {
  return Math.abs(part - 1) > FAR_OFF && Math.abs(part - 1) * asked > Math.max(1, perContact);
}

/** By how many percent the ends of a lot may move its dose, at the least. */
export function endsPercent({ asked, perContact }: Lot): number {
  return (100 * Math.max(1, perContact)) / asked;
}
