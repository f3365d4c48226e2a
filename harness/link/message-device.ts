/**
 * How does what a device says stand on a line? Text and back; parsing never throws. Harness layer; its types are in
 * message.ts.
 */
import { isFault, readDetail } from "../../lib/trace/detail.js";
import {
  detailOf,
  EVENT_KINDS,
  type EventKind,
  isStimulusKind,
  type TraceEvent,
} from "../../lib/trace/index.js";
import { TEXT_MOST_FROM_DEVICE } from "./line.js";
import { whole } from "./message-number.js";
import {
  type DeviceLine,
  type DeviceLineFault,
  NUMBER_MOST,
  type Reported,
  REASONS,
  type RequestNumber,
  VALUE_MOST,
} from "./message-kinds.js";

const REPORT_KINDS: ReadonlySet<string> = new Set(EVENT_KINDS.filter((kind) => !isStimulusKind(kind)));

/** Any words as a line can carry them: printable ASCII without `*`, one space between words, at most so long. */
export function wireWords(words: string, lengthMost: number): string {
  return words
    .replace(/[^\x20-\x7e]|\*/g, " ")
    .replace(/ +/g, " ")
    .trimStart()
    .slice(0, lengthMost)
    .trimEnd();
}

/**
 * The text of a line of the device, without its check. Fits its line for counts up to {@link VALUE_MOST} and
 * {@link OWED_MOST}; words that are free are cut to fit.
 */
export function formatDeviceLine(line: DeviceLine): string {
  switch (line.kind) {
    case "ok": {
      const ok = `ok ${line.number ?? "-"} ${line.lastReport}`;
      return line.value === undefined ? ok : `${ok} ${line.value}`;
    }
    case "no":
      return withWords(`no ${line.number ?? "-"} ${line.reason}`, line.words);
    case "boot":
      return withWords("boot", line.name);
    case "is":
      return withWords(`${line.report} is ${line.what}`, line.words);
    case "register":
      return `${line.report} register ${line.ticks} ${line.contacts}`;
    case "report": {
      const { event } = line;
      const start = `${line.report} ${event.kind} ${line.ticks}`;
      if (event.kind === "stroke") return start;
      if (event.kind === "did") return `${start} ${event.number ?? "-"}`;
      if (event.kind === "fault") return withWords(start, event.message);
      const detail = detailOf(event as TraceEvent);
      return detail === "" ? start : `${start} ${detail}`;
    }
  }
}

function withWords(start: string, words: string): string {
  const sound = wireWords(words, TEXT_MOST_FROM_DEVICE - start.length - 1);
  return sound === "" ? start : `${start} ${sound}`;
}

/** Reads a line of the device. */
export function parseDeviceLine(text: string): DeviceLine | DeviceLineFault {
  const [first, second, third, ...more] = text.split(" ");
  const words = more.join(" ");
  const fault = { fault: `"${text}" means nothing` };
  if (first === "ok") return readOk(second, third, more) ?? fault;
  if (first === "boot") return { kind: "boot", name: text.slice("boot ".length) };
  if (first === "no") {
    const number = readNumber(second);
    const reason = REASONS.find((name) => name === third);
    return number === false || reason === undefined ? fault : { kind: "no", number, reason, words };
  }
  const report = whole(first, 1, NUMBER_MOST);
  if (report === undefined || second === undefined) return fault;
  if (second === "is") return third ? { kind: "is", report, what: third, words } : fault;
  const ticks = whole(third, 0, VALUE_MOST);
  if (second === "register") {
    const contacts = whole(more[0], 0, VALUE_MOST);
    if (ticks === undefined || contacts === undefined || more.length > 1) return fault;
    return { kind: "register", report, ticks, contacts };
  }
  const event = readReported(second, more.length === 0 ? undefined : words);
  return ticks === undefined || event === undefined ? fault : { kind: "report", report, ticks, event };
}

function readOk(
  numberWord: string | undefined,
  lastWord: string | undefined,
  more: readonly string[],
): DeviceLine | undefined {
  const number = readNumber(numberWord);
  const lastReport = whole(lastWord, 0, NUMBER_MOST);
  if (number === false || lastReport === undefined || more.length > 1) return undefined;
  if (more.length === 0) return { kind: "ok", number, lastReport };
  const value = whole(more[0], 0, VALUE_MOST);
  return value === undefined ? undefined : { kind: "ok", number, lastReport, value };
}

function readReported(kind: string, words: string | undefined): Reported | undefined {
  if (kind === "stroke") return words === undefined ? { kind } : undefined;
  if (kind === "did") {
    const number = words === undefined ? false : readNumber(words);
    return number === false ? undefined : { kind, number };
  }
  if (kind === "fault") return { kind, message: words ?? "" };
  if (!REPORT_KINDS.has(kind) || words === "") return undefined;
  const event = readDetail(kind as EventKind, 0, words ?? "");
  // Written back it must be the same: numbers have no leading zeros.
  if (isFault(event) || detailOf(event) !== (words ?? "")) return undefined;
  const untimed: { atMicros?: number } = { ...event };
  delete untimed.atMicros;
  return hasSoundCounts(untimed) ? (untimed as Reported) : undefined;
}

function hasSoundCounts(untimed: object): boolean {
  return Object.values(untimed).every((value) => typeof value !== "number" || value <= VALUE_MOST);
}

/** The number of a request in an answer, undefined for `-`; false for anything else. */
function readNumber(word: string | undefined): RequestNumber | false {
  return word === "-" ? undefined : (whole(word, 0, NUMBER_MOST) ?? false);
}
