/**
 * What stands in the third column of a trace? The particulars of an event, as `name=value` pairs. Trace layer.
 *
 * Written by `detailOf`, read by `readDetail`; one is the inverse of the other. A detail never holds a comma, a
 * quote or a line end, so that a row needs no quoting.
 */
import {
  ALARMS,
  type Alarm,
  INHIBIT_CAUSES,
  type InhibitCause,
  type Settings,
  type SettingsInput,
  SHED_CAUSES,
  type ShedCause,
  validateSettings,
} from "../pacing/index.js";
import type { EventKind, TraceEvent } from "./event.js";

/** A detail that could not be read: what is wrong, and what would be right. */
export interface DetailFault {
  readonly fault: string;
  readonly mend: string;
}

/** Every setting, in the order of a trace and of the link. */
export const SETTING_NAMES = [
  "strokes",
  "contacts",
  "cadence",
  "leastSpacingMicros",
  "owedLimitStrokes",
  "graceMicros",
  "longestPrimeMicros",
  "primeSpacingMicros",
  "contactsDuringPrime",
  "guardBudgetStrokes",
  "guardPeriodMicros",
  "guardBurstStrokes",
  "closedMicros",
  "openMicros",
  "leastContactMicros",
  "stuckMicros",
  "silentMicros",
  "largestIncrease",
  "strokeBasis",
] as const satisfies readonly (keyof SettingsInput)[];

/** The third column of an event; empty where there is nothing to tell. */
export function detailOf(event: TraceEvent): string {
  switch (event.kind) {
    case "inhibit-on":
    case "inhibit-off":
      return event.cause;
    case "settings":
      return settingsDetail(event.settings, event.confirmed);
    case "power-on":
      return event.darkKnown ? "dark-known" : "dark-unknown";
    case "counted":
      return `contacts=${event.contacts} earned=${event.earned}`;
    case "ignored":
    case "rejected":
      return `contacts=${event.contacts}`;
    case "shed":
      return `cause=${event.cause} strokes=${event.strokes}`;
    case "alarm-on":
    case "alarm-off":
      return event.alarm;
    case "status":
      return (
        `earned=${event.earned} paced=${event.paced} primed=${event.primed} ` +
        `owed=${event.owed} shed=${event.shed} remainder=${event.remainder}`
      );
    case "fault":
      return event.message.replace(/[\s,"]+/g, " ").trim();
    case "wake":
    case "close":
    case "open":
    case "contact":
    case "prime-on":
    case "prime-off":
    case "hold-on":
    case "hold-off":
    case "reset":
    case "power-off":
    case "paced":
    case "primed":
    case "refused":
      return "";
  }
}

/** Reads an event back from its kind, time and detail. */
export function readDetail(kind: EventKind, atMicros: number, detail: string): TraceEvent | DetailFault {
  switch (kind) {
    case "inhibit-on":
    case "inhibit-off":
      return named<InhibitCause>(detail === "" ? "other" : detail, INHIBIT_CAUSES, (cause) => ({
        kind,
        atMicros,
        cause,
      }));
    case "settings":
      return readSettings(atMicros, detail);
    case "power-on":
      return named(detail === "" ? "dark-unknown" : detail, ["dark-known", "dark-unknown"], (dark) => ({
        kind,
        atMicros,
        darkKnown: dark === "dark-known",
      }));
    case "counted":
      return numbers(detail, ["contacts", "earned"], ([contacts, earned]) => ({
        kind,
        atMicros,
        contacts,
        earned,
      }));
    case "ignored":
    case "rejected":
      return numbers(detail, ["contacts"], ([contacts]) => ({ kind, atMicros, contacts }));
    case "shed":
      return readShed(atMicros, detail);
    case "alarm-on":
    case "alarm-off":
      return named<Alarm>(detail, ALARMS, (alarm) => ({ kind, atMicros, alarm }));
    case "status":
      return numbers(
        detail,
        ["earned", "paced", "primed", "owed", "shed", "remainder"],
        ([earned, paced, primed, owed, shed, remainder]) => ({
          kind,
          atMicros,
          earned,
          paced,
          primed,
          owed,
          shed,
          remainder,
        }),
      );
    case "fault":
      return { kind, atMicros, message: detail };
    case "wake":
    case "close":
    case "open":
    case "contact":
    case "prime-on":
    case "prime-off":
    case "hold-on":
    case "hold-off":
    case "reset":
    case "power-off":
    case "paced":
    case "primed":
    case "refused":
      return detail === ""
        ? { kind, atMicros }
        : { fault: `${kind} has a detail, "${detail}"`, mend: "leave it empty" };
  }
}

/** Tells a fault from an event. */
export function isFault(read: TraceEvent | DetailFault): read is DetailFault {
  return "fault" in read;
}

function settingsDetail(settings: Settings, confirmed: boolean): string {
  const pairs = SETTING_NAMES.map((name) => `${name}=${settings[name]}`);
  return pairs.concat(confirmed ? ["confirmed"] : []).join(" ");
}

function readSettings(atMicros: number, detail: string): TraceEvent | DetailFault {
  const words = detail.split(" ");
  const input: { [name: string]: string | number } = {};
  for (const word of words) {
    if (word === "confirmed") continue;
    const [name, value] = word.split("=");
    if (name === undefined || value === undefined) {
      return { fault: `"${word}" is not a setting`, mend: "write name=value pairs, a space between them" };
    }
    input[name] = /^\d+$/.test(value) ? Number(value) : value;
  }
  const verdict = validateSettings(input as unknown as SettingsInput);
  if (verdict.ok) {
    return { kind: "settings", atMicros, settings: verdict.settings, confirmed: words.includes("confirmed") };
  }
  return {
    fault: verdict.faults.map(({ setting, fault }) => `${setting} ${fault}`).join("; "),
    mend: verdict.faults.map(({ setting, mend }) => `${setting}: ${mend}`).join("; "),
  };
}

function readShed(atMicros: number, detail: string): TraceEvent | DetailFault {
  const [cause = "", strokes = ""] = detail.split(" ");
  const value = cause.replace(/^cause=/, "");
  return named<ShedCause, TraceEvent | DetailFault>(value, SHED_CAUSES, (known) =>
    numbers(strokes, ["strokes"], ([count]) => ({ kind: "shed", atMicros, cause: known, strokes: count })),
  );
}

function named<Name extends string, Read = TraceEvent>(
  value: string,
  names: readonly Name[],
  make: (name: Name) => Read,
): Read | DetailFault {
  const found = names.find((name) => name === value);
  return found === undefined
    ? { fault: `detail is "${value}"`, mend: `write one of ${names.join(", ")}` }
    : make(found);
}

/** Whole numbers by name, in the order of `names`. */
function numbers<Names extends readonly string[], Read>(
  detail: string,
  names: readonly [...Names],
  make: (values: { [key in keyof Names]: number }) => Read,
): Read | DetailFault {
  const words = detail.split(" ");
  const values = names.map((name, i) => {
    const [, value] = new RegExp(`^${name}=(\\d{1,16})$`).exec(words[i] ?? "") ?? [];
    return value === undefined ? undefined : Number(value);
  });
  if (words.length !== names.length || values.includes(undefined)) {
    return { fault: `detail is "${detail}"`, mend: `write ${names.map((name) => `${name}=N`).join(" ")}` };
  }
  return make(values as { [key in keyof Names]: number });
}
