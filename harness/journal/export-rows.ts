/**
 * How do days and totals of a journal stand in a CSV file? Harness layer, pure.
 *
 * Names of columns end in their unit. What is not known is empty, never 0. A cell with a comma or a quote is quoted, so
 * that a spreadsheet takes it.
 */
import { ALARMS, SHED_CAUSES } from "../../lib/pacing/index.js";
import type { DayRow } from "./export-days.js";
import type { LocalLabel } from "./export-label.js";

const LITRES_PER_GALLON = 3.785411784;

/** What stands in a cell; undefined is not known. */
export type Cell = string | number | undefined;

interface Column {
  readonly name: string;
  cell(row: DayRow): Cell;
}

const COUNTS: readonly Column[] = [
  { name: "water_l", cell: ({ feed }) => figure(feed?.litres) },
  { name: "water_gal", cell: ({ feed }) => figure(feed && feed.litres / LITRES_PER_GALLON) },
  { name: "solution_ml", cell: ({ feed }) => figure(feed?.millilitres) },
  { name: "solution_gal", cell: ({ feed }) => figure(feed && feed.millilitres / 1_000 / LITRES_PER_GALLON) },
  { name: "mean_dose_mg_per_l", cell: ({ feed }) => figure(feed?.meanMilligramsPerLitre) },
  { name: "wanted_dose_mg_per_l", cell: ({ feed }) => figure(feed?.wantedMilligramsPerLitre) },
  { name: "contacts", cell: ({ contacts }) => contacts },
  { name: "ignored_contacts", cell: ({ ignored }) => ignored },
  { name: "rejected_contacts", cell: ({ rejected }) => rejected },
  { name: "earned_strokes", cell: ({ earned }) => earned },
  { name: "paced_strokes", cell: ({ paced }) => paced },
  { name: "primed_strokes", cell: ({ primed }) => primed },
  { name: "uncertain_strokes", cell: ({ uncertain }) => uncertain },
  { name: "untold_strokes", cell: ({ untold }) => untold },
  ...SHED_CAUSES.map((cause) => ({ name: `shed_${cause}_strokes`, cell: ({ shed }: DayRow) => shed[cause] })),
  { name: "alarms", cell: ({ alarms }) => sum(ALARMS.map((alarm) => alarms[alarm])) },
  { name: "alarm_kinds", cell: ({ alarms }) => kindsOf(ALARMS.map((alarm) => [alarm, alarms[alarm]])) },
  { name: "troubles", cell: ({ troubles }) => sum(Object.values(troubles)) },
  { name: "trouble_kinds", cell: ({ troubles }) => kindsOf(Object.entries(troubles)) },
  { name: "restarts", cell: ({ restarts }) => restarts },
  { name: "dark_s", cell: ({ darkMicros }) => Math.round(darkMicros / 1_000) / 1_000 },
  { name: "restarts_after_unknown_dark", cell: ({ darkUnknown }) => darkUnknown },
  { name: "whole", cell: ({ isWhole }) => (isWhole ? "yes" : "no") },
];

const DAY_COLUMNS: readonly Column[] = [
  { name: "date", cell: ({ first }) => first.date },
  { name: "zone", cell: ({ zone }) => zone },
  { name: "first_time", cell: ({ first }) => first.time },
  { name: "last_time", cell: ({ last }) => last.time },
  ...COUNTS,
];
const TOTAL_COLUMNS: readonly Column[] = [
  { name: "from", cell: ({ first }) => labelText(first) },
  { name: "to", cell: ({ last }) => labelText(last) },
  { name: "zone", cell: ({ zone }) => zone },
  ...COUNTS,
];

export const DAYS_HEADER = DAY_COLUMNS.map(({ name }) => name).join(",");
export const TOTALS_HEADER = TOTAL_COLUMNS.map(({ name }) => name).join(",");

export function dayLine(row: DayRow): string {
  return csvLine(DAY_COLUMNS.map((column) => column.cell(row)));
}

export function totalLine(row: DayRow): string {
  return csvLine(TOTAL_COLUMNS.map((column) => column.cell(row)));
}

/** The same figures under the same names, for machines; what is not known is null. */
export function dayObject(row: DayRow): { readonly [name: string]: string | number | null } {
  return objectOf(DAY_COLUMNS, row);
}

export function totalObject(row: DayRow): { readonly [name: string]: string | number | null } {
  return objectOf(TOTAL_COLUMNS, row);
}

/** `2026-11-26 17:05:09` */
export function labelText({ date, time }: LocalLabel): string {
  return `${date} ${time}`;
}

/** To nine digits: more than any meter has, and no tail of a binary fraction. */
function figure(value: number | undefined): number | undefined {
  return value === undefined ? undefined : Number(value.toPrecision(9));
}

function sum(counts: readonly number[]): number {
  return counts.reduce((total, each) => total + each, 0);
}

/** "owed-limit 2; silent 1" */
function kindsOf(counts: readonly (readonly [kind: string, count: number])[]): string {
  return counts
    .filter(([, count]) => count > 0)
    .map(([kind, count]) => `${kind} ${count}`)
    .join("; ");
}

function objectOf(
  columns: readonly Column[],
  row: DayRow,
): { readonly [name: string]: string | number | null } {
  return Object.fromEntries(columns.map((column) => [column.name, column.cell(row) ?? null]));
}

/** Cells as one line, without its line end. */
export function csvLine(cells: readonly Cell[]): string {
  return cells.map((cell) => quoted(cell === undefined ? "" : String(cell))).join(",");
}

function quoted(text: string): string {
  // A spreadsheet takes a text that starts with one of these for a formula.
  const plain = /^[=+\-@\t\r]/.test(text) && Number.isNaN(Number(text)) ? ` ${text}` : text;
  return /[",\n\r]/.test(plain) ? `"${plain.replaceAll('"', '""')}"` : plain;
}
