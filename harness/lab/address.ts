/**
 * How does an address hold the state of the lab? As readable pairs after the `#`. Harness layer.
 *
 * Reading never fails and loses nothing: what a field cannot use stays in the field for its own complaint; what has no
 * field, or cannot be read, is complained of and kept, and stands in the next address again.
 */
import { DAY, type Micros } from "../../lib/pacing/index.js";
import { formatSeconds, parseSeconds } from "../../lib/trace/index.js";
import { FIELD_NAMES, type FieldName, type Texts } from "./fields.js";
import { type LabState, type Press, PRESSES_MOST, START, WINDOWS } from "./state.js";

/** A pair of the address that could not be used, and what to do. */
export interface Unread {
  readonly name: string;
  readonly text: string;
  readonly fault: string;
  readonly mend: string;
}

export interface Address {
  readonly state: LabState;
  readonly unread: readonly Unread[];
}

/** The part after the `#`. */
export function addressOf(
  { texts, presses, atMicros, windowMicros }: LabState,
  unread: readonly Unread[] = [],
): string {
  const pairs: [string, string][] = FIELD_NAMES.map((name) => [name, texts[name]]);
  pairs.push(["at", seconds(atMicros)], ["window", seconds(windowMicros)]);
  if (presses.length > 0) {
    pairs.push([
      "prime",
      presses.map((one) => `${seconds(one.onMicros)}-${seconds(one.offMicros)}`).join(","),
    ]);
  }
  const kept = new Map(unread.map(({ name, text }) => [name, text]));
  const known = new Set(pairs.map(([name]) => name));
  const all = pairs.map(([name, text]): [string, string] => [name, kept.get(name) ?? text]);
  return new URLSearchParams([...all, ...[...kept].filter(([name]) => !known.has(name))]).toString();
}

/** Reads what stands after the `#`; what it does not tell is as at the start. */
export function readAddress(hash: string): Address {
  const texts: { [name in FieldName]: string } = { ...START.texts };
  let { presses, atMicros, windowMicros } = START;
  const unread: Unread[] = [];
  for (const [name, text] of new Map(new URLSearchParams(hash.replace(/^#/, "")))) {
    const bad = (fault: string, mend: string): void => void unread.push({ name, text, fault, mend });
    if (isField(name)) texts[name] = text;
    else if (name === "at") {
      const micros = parseSeconds(text);
      if (micros !== undefined && micros <= DAY) atMicros = micros;
      else bad("is no moment of the day", "give seconds since midnight, from 0 to 86400");
    } else if (name === "window") {
      const micros = parseSeconds(text);
      const known = WINDOWS.find((one) => one.micros === micros);
      if (known !== undefined) windowMicros = known.micros;
      else
        bad(
          "is no width of the closer look",
          `give ${WINDOWS.map((one) => seconds(one.micros)).join(", ")} seconds`,
        );
    } else if (name === "prime") {
      const read = readPresses(text);
      if (read !== undefined) presses = read;
      else bad("is no list of presses", "give pairs of seconds in order, such as 36000-36012,40000-40005");
    } else bad("is not known here", "take it out, or check its spelling");
  }
  return { state: { texts: texts satisfies Texts, presses, atMicros, windowMicros }, unread };
}

function isField(name: string): name is FieldName {
  return (FIELD_NAMES as readonly string[]).includes(name);
}

function seconds(micros: Micros): string {
  return formatSeconds(micros).replace(/\.?0+$/, "");
}

function readPresses(text: string): Press[] | undefined {
  const presses: Press[] = [];
  let lastMicros = -1;
  for (const part of text.split(",")) {
    const [on, off, ...more] = part.split("-").map(parseSeconds);
    if (on === undefined || off === undefined || more.length > 0) return undefined;
    if (on <= lastMicros || off < on || off > DAY) return undefined;
    presses.push({ onMicros: on, offMicros: off });
    lastMicros = off;
  }
  return presses.length > PRESSES_MOST ? undefined : presses;
}
