/**
 * What trials does a file hold? CSV with a header, in any order of columns. Harness layer.
 *
 * `strokes` and one volume column are needed; `rate_per_min` stands in every row or in none. A table that a spreadsheet
 * wrote is taken as it is (CR LF, byte order mark): each row has all its cells or is refused, so none is half read.
 */
import { accessSync, constants, existsSync, readFileSync } from "node:fs";
import { dirname } from "node:path";
import { type CsvError, parse } from "csv-parse/sync";
import type { DrawdownTrial } from "../../lib/dosing/index.js";
import { fileFault, InputError, type InputFault } from "../files/fault.js";
import { writeWhole } from "../files/whole-file.js";
import { isRefused, type Refused } from "../plan/terms.js";
import { readDrawn, readStrokes, readTrialRate, trialCells, trialFault } from "./trial.js";

/** Largest file that is read, in bytes, and most trials. */
const BYTES_MOST = 65_536;
const TRIALS_MOST = 1_000;

export const VOLUME_COLUMNS: { readonly [column: string]: string } = {
  volume_ml: "mL",
  volume_l: "L",
  volume_floz: "floz",
  volume_gal: "gal",
};
const COLUMNS = ["rate_per_min", "strokes", ...Object.keys(VOLUME_COLUMNS)];
export const TRIALS_HEADER = "rate_per_min,strokes,volume_ml";
const HEADER_MEND = `start with a header such as ${TRIALS_HEADER}`;

interface Row {
  readonly record: readonly string[];
  readonly info: { readonly lines: number };
}

/** Reads trials; `-` is standard input. Throws an InputError with every fault. */
export async function readTrials(path: string): Promise<DrawdownTrial[]> {
  const file = path === "-" ? "standard input" : path;
  const [header, ...rows] = rowsOf(await textOf(path, file), file);
  const columns = columnsOf(header, file);
  if (rows.length === 0)
    throw new InputError([{ file, fault: "has no trials", mend: "give a row per trial" }]);
  if (rows.length > TRIALS_MOST) {
    throw new InputError([
      { file, fault: `has more than ${TRIALS_MOST} trials`, mend: "give a drawdown, not a log" },
    ]);
  }
  const faults: InputFault[] = [];
  const trials = rows.flatMap((row) => {
    const read = trialIn(row, columns);
    if (!Array.isArray(read)) return [read];
    faults.push(...read.map((fault) => ({ ...fault, file, line: row.info.lines })));
    return [];
  });
  if (faults.length > 0) throw new InputError(faults);
  return trials;
}

/** Puts trials into a file in place of what it held. Throws an InputError where it cannot. */
export function writeTrials(path: string, trials: readonly DrawdownTrial[]): void {
  writeWhole(path, trialsText(trials));
}

/** Refuses, before anybody types, a file that is there already (it may hold trials) or that cannot be made. */
export function refuseUnlessNew(path: string, field: string): void {
  if (!existsSync(path)) {
    try {
      accessSync(dirname(path), constants.W_OK);
      return;
    } catch (error) {
      throw new InputError([{ ...fileFault(path, error, "made"), field }]);
    }
  }
  const mend = `name a new file, or judge what it holds: tallystroke calibrate ${path}`;
  throw new InputError([{ field, fault: `${path} is there already`, mend }]);
}

/** Trials as CSV; without a column of rates where none is known. */
export function trialsText(trials: readonly DrawdownTrial[]): string {
  const rates = trials.some(({ ratePerMinute }) => ratePerMinute !== undefined);
  const rows = [TRIALS_HEADER.split(","), ...trials.map(trialCells)];
  return rows.map((cells) => `${cells.slice(rates ? 0 : 1).join(",")}\n`).join("");
}

async function textOf(path: string, file: string): Promise<string> {
  let bytes: Buffer;
  try {
    bytes = path === "-" ? await standardInput() : readFileSync(path);
  } catch (error) {
    throw new InputError([fileFault(file, error, "read")]);
  }
  if (bytes.length > BYTES_MOST) {
    throw new InputError([
      { file, fault: `is longer than ${BYTES_MOST} bytes`, mend: "give a drawdown, not a log" },
    ]);
  }
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    throw new InputError([{ file, fault: "is not UTF-8 text", mend: "give a CSV text file" }]);
  }
}

async function standardInput(): Promise<Buffer> {
  const chunks: Buffer[] = [];
  let bytes = 0;
  for await (const chunk of process.stdin as AsyncIterable<Buffer>) {
    chunks.push(chunk);
    bytes += chunk.length;
    if (bytes > BYTES_MOST) break;
  }
  return Buffer.concat(chunks);
}

function rowsOf(text: string, file: string): readonly Row[] {
  try {
    return parse(text, {
      comment: "#",
      comment_no_infix: true,
      trim: true,
      skip_empty_lines: true,
      relax_column_count: true,
      info: true,
    }) as unknown as Row[];
  } catch (error) {
    const { lines, message } = error as CsvError & { readonly lines?: number };
    throw new InputError([{ file, line: lines, fault: `is not sound CSV (${message})`, mend: HEADER_MEND }]);
  }
}

/** The names of the columns. */
function columnsOf(header: Row | undefined, file: string): readonly string[] {
  if (header === undefined) throw new InputError([{ file, fault: "is empty", mend: HEADER_MEND }]);
  const place = { file, line: header.info.lines };
  const names = header.record.map((name) => name.toLowerCase());
  const faults: InputFault[] = [];
  for (const [at, name] of names.entries()) {
    if (!COLUMNS.includes(name)) {
      const semicolons = name.includes(";") ? ", with commas between the columns and decimal points" : "";
      faults.push({
        ...place,
        fault: `"${name}" is no column`,
        mend: `use ${COLUMNS.join(", ")}${semicolons}`,
      });
    } else if (names.indexOf(name) !== at) {
      faults.push({ ...place, fault: `"${name}" stands twice`, mend: "keep one of them" });
    }
  }
  const volumes = names.filter((name) => name in VOLUME_COLUMNS);
  if (faults.length === 0 && !names.includes("strokes")) {
    faults.push({ ...place, fault: "has no column strokes", mend: HEADER_MEND });
  }
  if (faults.length === 0 && volumes.length !== 1) {
    const fault = volumes.length === 0 ? "has no column for the volume" : `has ${volumes.join(" and ")}`;
    faults.push({ ...place, fault, mend: `give one of ${Object.keys(VOLUME_COLUMNS).join(", ")}` });
  }
  if (faults.length > 0) throw new InputError(faults);
  return names;
}

/** A trial, or what is wrong with its row. */
function trialIn({ record }: Row, columns: readonly string[]): DrawdownTrial | InputFault[] {
  if (record.length !== columns.length) {
    const fault = `has ${record.length} cells under ${columns.length} columns`;
    return [{ fault, mend: "give each row a cell for every column, decimals with a point" }];
  }
  const faults: InputFault[] = [];
  const take = <T>(column: string, read: (text: string) => T | Refused): T | undefined => {
    const text = record[columns.indexOf(column)] ?? "";
    const value = read(text);
    if (typeof value !== "object" || value === null || !isRefused(value)) return value;
    faults.push({ field: column, ...value });
    return undefined;
  };
  const volume = columns.find((name) => name in VOLUME_COLUMNS) ?? "";
  const strokes = take("strokes", readStrokes);
  const drawn = take(volume, (text) => plainVolume(text, VOLUME_COLUMNS[volume] ?? "mL"));
  const rate = columns.includes("rate_per_min") ? take("rate_per_min", readTrialRate) : undefined;
  if (strokes === undefined || drawn === undefined || faults.length > 0) return faults;
  const trial = { strokes, drawn, ...(rate === undefined ? {} : { ratePerMinute: rate }) };
  const fault = trialFault(trial);
  return fault === undefined ? trial : [fault];
}

/** A cell is a bare number: its unit stands in the header. */
function plainVolume(text: string, unit: string): ReturnType<typeof readDrawn> {
  if (/^[\d.]+$/.test(text)) return readDrawn(text, unit);
  const fault = text === "" ? "is empty" : `"${text.slice(0, 40)}" is no plain number`;
  return { fault, mend: `write the number alone, with a decimal point; the header says ${unit}` };
}
