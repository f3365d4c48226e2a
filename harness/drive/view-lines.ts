/**
 * What stands on the screen of a live feed? Status and size of the window to lines. Harness layer.
 *
 * Pure. Never more lines than rows, never a line wider than the window: nothing wraps and nothing scrolls. What a small
 * window has no room for goes in a fixed order: gaps, what is optional, the ends of long sentences, the later warnings
 * but for their number, the later counts. How the feed stands and the keys stay to the last.
 */
import stringWidth from "string-width";
import wrapAnsi from "wrap-ansi";
import type { DriveStatus } from "./status.js";
import { countRows, endRows, type Row, stateOf, titleOf, type Tone, warningsOf } from "./view-rows.js";

export interface ViewLine {
  readonly text: string;
  readonly tone: Tone;
}

export interface ViewSize {
  readonly columns: number;
  readonly rows: number;
}

/** Something told, in as many lines as it needs and in one. */
interface Item {
  readonly full: readonly ViewLine[];
  readonly brief: ViewLine;
  readonly isOptional: boolean;
}

const LABEL_COLUMNS = 10;
/** With less room than this beside the label, the label begins the text instead. */
const TEXT_COLUMNS_LEAST = 12;
const GAP: ViewLine = { text: "", tone: "plain" };
const PRIME_HELP = "Prime runs while p is held down, and ends by itself once it is let go";
const NO_PRIME = "No prime while strokes are stopped: press p anew after that";
const CAUTION =
  "Hypochlorite burns, and makes poisonous gas with acid or ammonia. Local codes, the labels and a licensed operator decide";
const LEAVING = "End the feed? y yes, any other key no. Water then passes undosed";

/** Each line of the window from the top; `isLeaving` while a person is asked whether the feed shall end. */
export function viewLines(status: DriveStatus, { columns, rows }: ViewSize, isLeaving: boolean): ViewLine[] {
  if (columns < 1 || rows < 1) return [];
  const title = item(titleOf(status), "plain", columns, true);
  const state = itemOf(stateOf(status), columns);
  const counts = countRows(status).map((row) => itemOf(row, columns));
  const ends = endRows(status).map((row) => itemOf(row, columns));
  const warnings = warningsOf(status);
  const warned =
    warnings.length === 0
      ? [item("No alarm, no trouble", "plain", columns, false)]
      : warnings.map((text) => item(text, "alarm", columns, false, "  "));
  const { held, tripped, inhibits } = status;
  const isStopped = held || tripped || inhibits.length > 0;
  const help = [CAUTION, isStopped ? NO_PRIME : PRIME_HELP].map((text) => item(text, "plain", columns, true));
  const foot = [...help, footItem(status, columns, isLeaving)];
  const lines =
    airy([[title, state], counts, ends, warned, foot], rows) ??
    dense([title, state, ...counts, ...ends, ...warned], foot, rows) ??
    least([state, ...required([...ends, ...counts])], warnings, foot.slice(-1), { columns, rows });
  // A name may hold a cluster of signs that is wider than the window and cannot be broken.
  return lines.map((line) => (stringWidth(line.text) > columns ? GAP : line));
}

/** Everything, with a gap after each section; undefined where there is no room. */
function airy(sections: readonly (readonly Item[])[], rows: number): ViewLine[] | undefined {
  const parts = sections.map((items) => items.flatMap(({ full }) => full));
  const foot = parts.at(-1) ?? [];
  const above = parts.slice(0, -1).flatMap((lines) => [...lines, GAP]);
  return placed(above, foot, rows);
}

/** All that is required, each in one line; the rows to spare go to their further lines, then to what is optional. */
function dense(above: readonly Item[], foot: readonly Item[], rows: number): ViewLine[] | undefined {
  const all = [...above, ...foot];
  let spare = rows - required(all).length;
  if (spare < 0) return undefined;
  const chosen = new Map<Item, readonly ViewLine[]>();
  for (const it of required(all)) {
    const more = it.full.length - 1;
    chosen.set(it, more <= spare ? it.full : [it.brief]);
    if (more <= spare) spare -= more;
  }
  for (const it of all) {
    if (!it.isOptional || it.full.length > spare) continue;
    chosen.set(it, it.full);
    spare -= it.full.length;
  }
  const linesOf = (items: readonly Item[]): ViewLine[] => items.flatMap((it) => chosen.get(it) ?? []);
  return placed(linesOf(above), linesOf(foot), rows);
}

/** One line each, and no more of them than there is room for. */
function least(
  counts: readonly Item[],
  warnings: readonly string[],
  foot: readonly Item[],
  { columns, rows }: ViewSize,
): ViewLine[] {
  const briefs = (items: readonly Item[]): ViewLine[] => items.map(({ brief }) => brief);
  if (rows < 2) return briefs(counts).slice(0, rows);
  const room = rows - 1;
  const forWarnings = room < 2 ? 0 : Math.min(warnings.length, Math.max(1, room - counts.length));
  const above = [
    ...briefs(counts).slice(0, room - forWarnings),
    ...fewWarnings(warnings, forWarnings, columns),
  ];
  return placed(above, briefs(foot), rows) ?? [];
}

function fewWarnings(warnings: readonly string[], most: number, columns: number): ViewLine[] {
  if (most === 0) return [];
  const isAll = warnings.length <= most;
  const first = warnings.slice(0, isAll ? most : most - 1);
  const rest = warnings.length - first.length;
  const further =
    first.length === 0 ? `${rest} alarms and troubles: ${warnings[0] ?? ""}` : `and ${rest} more`;
  return [...first, ...(isAll ? [] : [further])].map((text) => cut(text, "alarm", columns));
}

/** The foot at the foot of the window. */
function placed(above: readonly ViewLine[], foot: readonly ViewLine[], rows: number): ViewLine[] | undefined {
  const spare = rows - above.length - foot.length;
  return spare < 0 ? undefined : [...above, ...new Array<ViewLine>(spare).fill(GAP), ...foot];
}

function required(items: readonly Item[]): Item[] {
  return items.filter(({ isOptional }) => !isOptional);
}

function footItem({ held, tripped }: DriveStatus, columns: number, isLeaving: boolean): Item {
  if (isLeaving) return item(LEAVING, "alarm", columns, false);
  const hold = held ? "g go on" : "h hold";
  return item(`p prime  ${hold}  r reset${tripped ? " trip" : ""}  q quit`, "strong", columns, false);
}

function item(text: string, tone: Tone, columns: number, isOptional: boolean, indent = ""): Item {
  const full = wrap(text, columns, indent).map((line): ViewLine => ({ text: line, tone }));
  return { full, brief: cut(text, tone, columns), isOptional };
}

/** A row, its further lines below its text. */
function itemOf({ label, text, tone, isOptional }: Row, columns: number): Item {
  if (label === "") return item(text, tone, columns, isOptional);
  if (columns < LABEL_COLUMNS + TEXT_COLUMNS_LEAST)
    return item(`${label} ${text}`, tone, columns, isOptional);
  const beside = item(text, tone, columns - LABEL_COLUMNS, isOptional);
  const labelled = (line: ViewLine, name: string): ViewLine => ({
    ...line,
    text: name.padEnd(LABEL_COLUMNS) + line.text,
  });
  return {
    ...beside,
    full: beside.full.map((line, i) => labelled(line, i === 0 ? label : "")),
    brief: labelled(beside.brief, label),
  };
}

/** As many whole words as fit, with a mark that there were more. */
function cut(text: string, tone: Tone, columns: number): ViewLine {
  if (stringWidth(text) <= columns) return { text, tone };
  return { text: `${(wrap(text, columns - 1)[0] ?? "").trimEnd()}…`, tone };
}

/** Text broken into lines that fit, between words where it can be; all but the first after `indent`. */
function wrap(text: string, columns: number, indent = ""): string[] {
  if (columns < 1) return [""];
  const [first = "", ...rest] = wrapAnsi(text, columns, { hard: true }).split("\n");
  if (rest.length === 0 || columns <= indent.length) return [first, ...rest];
  const further = wrapAnsi(rest.join(" "), columns - indent.length, { hard: true }).split("\n");
  return [first, ...further.map((line) => `${indent}${line}`)];
}
