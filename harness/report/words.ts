/**
 * How are counts and times told to people? Harness layer.
 */
import {
  type Alarm,
  DAY,
  FULL_STROKE_STATEMENT,
  HOUR,
  type Micros,
  MINUTE,
  SECOND,
  type ShedCause,
} from "../../lib/pacing/index.js";

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

/** Lines under a title; nothing where there are none. */
export function section(title: string, lines: readonly string[]): string {
  return lines.length === 0 ? "" : [title, ...lines].join("\n");
}

/** A line of a section: its name, then what is said of it. */
export function line(name: string, text: string): string {
  return wrapped(text, `  ${name.padEnd(14)} `);
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

/** Why strokes were given up, and what that means for the water. */
export const SHED_WORDS: { readonly [cause in ShedCause]: string } = {
  limit: "more was owed than the limit allows; that water is underfed",
  still: "flow had stopped for the grace, and still water must not be dosed",
  hold: "the operator held the feed",
  inhibit: "an interlock forbade strokes; that water is underfed",
  trip: "the guard had tripped; that water is underfed",
  power: "the power was off for too long, or nobody knows how long",
};

/** What an alarm tells. */
export const ALARM_WORDS: { readonly [alarm in Alarm]: string } = {
  stuck: "the contact stayed closed too long: water came to rest on it, or a fault of meter or wire",
  silent: "no contact came for too long: no flow, or a broken wire",
  "too-fast": "contacts came faster than the meter can make them",
  "owed-limit":
    "strokes were shed at the owed limit: flow was above what the cap can feed, and water went short",
  "still-water": "owed strokes were shed, since flow had stopped",
  "shed-in-hold": "a hold shed what was owed: that water went short",
  "shed-in-inhibit": "an interlock shed strokes: water that passed meanwhile went short",
  tripped: "the guard saw more strokes than its budget and stopped the feed",
  "prime-too-long": "prime was held past its longest",
  "shed-at-restart": "a power loss shed what was owed: that water went short",
  "change-refused": "a change of settings needed confirmation",
};

/** A margin in its unit; times as {@link span} tells them. */
export function marginText(margin: number, unit: string): string {
  if (unit === "µs") return span(margin);
  return `${whole(margin)} ${margin === 1 ? unit.replace(/s$/, "") : unit}`;
}

/** What must be minded of every run of a pacer in virtual time. */
export const CAUTIONS: readonly string[] = [
  FULL_STROKE_STATEMENT,
  "This is a simulation, not a measurement of water. Local codes, the product labels and a licensed operator or " +
    "engineer decide.",
  "Hypochlorite burns, and makes poisonous gas with acid or ammonia.",
];
