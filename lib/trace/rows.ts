/**
 * How does a trace stand in a file? As CSV rows: `time_s`, `event`, `detail`.
 *
 * Trace layer. Splitting bytes into cells is the business of a CSV library at the edge; here cells become events, one
 * row at a time, and back, so that neither side ever holds more than a row. Every fault names file, line and mend.
 *
 * The format. UTF-8 without byte order mark, lines end in LF. Lines that start with `#` are comments. The first other
 * line is the header: `time_s`, and optionally `event` and `detail`, in any order. `time_s` is decimal seconds from
 * the start, up to six decimals, and never decreases. `event` is a kind of {@link TraceEvent}; empty, or without the
 * column, it is `contact`. `detail` is described in detail.ts and may be left out where it is empty.
 */
import type { Micros } from "../pacing/index.js";
import { detailOf, isFault, readDetail } from "./detail.js";
import { EVENT_KINDS, isEventKind, type TraceEvent } from "./event.js";
import { formatSeconds, parseSeconds } from "./time.js";

/** What is wrong with a trace, and where. */
export interface TraceFault {
  readonly file: string;
  /** 1 for the first line. */
  readonly line: number;
  readonly fault: string;
  readonly mend: string;
}

export type ReadRow =
  { readonly ok: true; readonly event: TraceEvent } | { readonly ok: false; readonly fault: TraceFault };

/** `FILE line N: what is wrong. Mend: what to do.` */
export function formatFault({ file, line, fault, mend }: TraceFault): string {
  return `${file} line ${line}: ${fault}. Mend: ${mend}.`;
}

export const TRACE_HEADER = "time_s,event,detail";
const COLUMNS: readonly string[] = TRACE_HEADER.split(",");

/** Reads rows after a sound header. */
export interface RowReader {
  read(cells: readonly string[], line: number): ReadRow;
}

/** Reads the header row; with it, the way in which the rows below are to be read. */
export function readHeader(
  cells: readonly string[],
  line: number,
  file: string,
): { readonly ok: true; readonly rows: RowReader } | { readonly ok: false; readonly fault: TraceFault } {
  const refuse = (fault: string, mend: string) =>
    ({ ok: false, fault: { file, line, fault, mend } }) as const;
  const unknown = cells.find((name) => !COLUMNS.includes(name));
  if (!cells.includes("time_s")) {
    return refuse(
      `no column time_s in the header "${cells.join(",")}"`,
      `start the file with the line time_s or ${TRACE_HEADER}`,
    );
  }
  if (unknown !== undefined) return refuse(`unknown column "${unknown}"`, `use ${COLUMNS.join(", ")}`);
  if (new Set(cells).size < cells.length)
    return refuse("a column stands twice in the header", "name each column once");
  return { ok: true, rows: rowReader(cells, file) };
}

function rowReader(header: readonly string[], file: string): RowReader {
  const [timeAt, eventAt, detailAt] = COLUMNS.map((name) => header.indexOf(name)) as [number, number, number];
  let lastMicros: Micros = 0;

  return {
    read(cells, line) {
      const refuse = (fault: string, mend: string): ReadRow => ({
        ok: false,
        fault: { file, line, fault, mend },
      });
      if (cells.length !== header.length) {
        return refuse(`${cells.length} cells under a header of ${header.length}`, `give ${header.join(",")}`);
      }
      const time = cells[timeAt] ?? "";
      const atMicros = parseSeconds(time);
      if (atMicros === undefined) {
        return refuse(
          `time_s is "${time}"`,
          "write seconds from the start such as 12.5, at most six decimals, at most 2251799813",
        );
      }
      if (atMicros < lastMicros) {
        return refuse(
          `time_s goes back from ${formatSeconds(lastMicros)} to ${time}`,
          "sort the rows by time",
        );
      }
      const kind = cells[eventAt] || "contact";
      if (!isEventKind(kind))
        return refuse(`unknown event "${kind}"`, `use one of ${EVENT_KINDS.join(", ")}`);
      const event = readDetail(kind, atMicros, cells[detailAt] ?? "");
      if (isFault(event)) return refuse(event.fault, event.mend);
      lastMicros = atMicros;
      return { ok: true, event };
    },
  };
}

/** One row, without its line end. */
export function formatRow(event: TraceEvent): string {
  return `${formatSeconds(event.atMicros)},${event.kind},${detailOf(event)}`;
}
