/**
 * How are counts and times told to people? Harness layer.
 */
import { DAY, HOUR, type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";

/** Width of the narrowest terminal that a report must fit, in columns. */
export const COLUMNS = 80;

/** A count with its thing: `1 stroke`, `12,345 strokes`. */
export function many(count: number, thing: string): string {
  return `${whole(count)} ${thing}${count === 1 ? "" : "s"}`;
}

/** A count with its thousands set apart. */
export function whole(count: number): string {
  return count.toLocaleString("en-US");
}

/** A time since the start of the log: `2 d 03:04:05`, or with the fraction where there is one. */
export function clock(micros: Micros): string {
  const two = (value: number): string => String(Math.floor(value)).padStart(2, "0");
  const days = Math.floor(micros / DAY);
  const time = `${two((micros % DAY) / HOUR)}:${two((micros % HOUR) / MINUTE)}:${two((micros % MINUTE) / SECOND)}`;
  return days > 0 ? `${days} d ${time}` : time;
}

/** How long something lasted, to a few digits, but exact below a second: `0.345 ms`, `34.2 s`, `12 min 5 s`, `7 h 36 min`. */
export function span(micros: Micros): string {
  if (micros < SECOND) return `${micros / 1_000} ms`;
  if (micros < MINUTE) return `${trimmed(micros / SECOND, 1)} s`;
  if (micros < HOUR) return pair(micros, MINUTE, "min", SECOND, "s");
  return micros < DAY ? pair(micros, HOUR, "h", MINUTE, "min") : pair(micros, DAY, "d", HOUR, "h");
}

function pair(micros: Micros, large: Micros, largeUnit: string, small: Micros, smallUnit: string): string {
  const rest = Math.floor((micros % large) / small);
  return `${Math.floor(micros / large)} ${largeUnit}${rest > 0 ? ` ${rest} ${smallUnit}` : ""}`;
}

function trimmed(value: number, decimals: number): string {
  return String(Number(value.toFixed(decimals)));
}

/** A space, but not the one between a number and its unit. */
const BREAKABLE = / (?!(?:ms|s|min|h|d|%)(?:[\s,.;:)]|$))/;

/** Text broken into lines that fit, each after `indent`; the first after `first` instead. */
export function wrapped(text: string, first = "", indent = " ".repeat(first.length)): string {
  const lines: string[] = [];
  let line = first;
  let bare = true;
  for (const word of text.split(BREAKABLE)) {
    if (!bare && line.length + 1 + word.length > COLUMNS) {
      lines.push(line);
      line = indent;
      bare = true;
    }
    line += bare ? word : ` ${word}`;
    bare = false;
  }
  return [...lines, line].join("\n");
}
