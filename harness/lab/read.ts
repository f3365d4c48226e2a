/**
 * What do the texts of the lab mean, or what is wrong with them? Harness layer.
 *
 * They go through the same doors as the options of the command: plan terms for the dosing, settings for the pacer. So
 * the lab refuses what the command refuses, with the same mend. Every fault is told at its field, all at once.
 */
import { exact, fromSi, numberIn, type PlanInput, quantity, type Volume } from "../../lib/dosing/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import { InputError, type InputFault } from "../files/fault.js";
import { settingsFrom } from "../files/settings.js";
import { planInputOf } from "../plan/request.js";
import type { TermName } from "../plan/terms.js";
import { FIELD_NAMES, type FieldName, type Texts } from "./fields.js";
import { contactsOf, litresOf, PATTERNS, type Stretch, stretchesOf } from "./patterns.js";

/** Most contacts, and most strokes, of a day that the lab takes: what it can reckon while a slider moves. */
export const EVENTS_MOST = 40_000;

/** All that a day is reckoned from. */
export interface Values {
  readonly input: PlanInput;
  readonly mixingVolume: Volume;
  readonly settings: Settings;
  readonly stretches: readonly Stretch[];
  /** Times of the contacts, µs. */
  readonly contacts: readonly number[];
}

/** What is wrong with a field, without its name. */
export interface FieldFault {
  readonly field: FieldName;
  readonly fault: string;
  readonly mend: string;
}

export type Reading =
  | { readonly ok: true; readonly values: Values }
  | { readonly ok: false; readonly faults: readonly FieldFault[] };

const PLAN_TERMS = [
  "contact-volume",
  "dose",
  "strength",
  "stroke-volume",
  "cap",
  "peak",
  "mixing-volume",
  "grace",
  "cadence",
] as const satisfies readonly (FieldName & TermName)[];
const SETTINGS = [
  "ratio",
  "cap",
  "cadence",
  "grace",
  "longest-prime",
] as const satisfies readonly FieldName[];

/** Reads all fields. */
export function readTexts(texts: Texts): Reading {
  const faults: InputFault[] = [];
  const written = (name: FieldName): string => texts[name].trim();
  const input = kept(faults, () =>
    planInputOf({ texts: new Map(PLAN_TERMS.map((name) => [name, written(name)])), measured: false }),
  );
  const settings = kept(faults, () =>
    settingsFrom(new Map(SETTINGS.map((name) => [name, { text: written(name) }]))),
  );
  const stretches = stretchesOf(written("pattern"), input === undefined ? 1 : numberIn(input.peak, "L/min"));
  if (stretches === undefined) {
    const names = PATTERNS.map(({ name }) => name).join(", ");
    faults.push({ field: "pattern", fault: `is "${written("pattern")}"`, mend: `choose one of ${names}` });
  }
  if (input === undefined || settings === undefined || stretches === undefined || faults.length > 0) {
    return { ok: false, faults: byField(faults) };
  }
  const busy = tooBusy(input, settings, stretches);
  if (busy !== undefined) return { ok: false, faults: [busy] };
  const flowing = stretches.map(({ litresPerMinute }) => litresPerMinute).filter((flow) => flow > 0);
  return {
    ok: true,
    values: {
      input: { ...input, low: quantity("flow", exact(Math.min(...flowing)), "L/min") },
      mixingVolume: input.mixingVolume ?? fromSi("volume", input.contactVolume.si),
      settings,
      stretches,
      contacts: contactsOf(stretches, numberIn(input.contactVolume, "L")),
    },
  };
}

function kept<T>(faults: InputFault[], read: () => T): T | undefined {
  try {
    return read();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    faults.push(...error.faults);
    return undefined;
  }
}

/** The first fault of each field: grace, cap and cadence go through both doors. */
function byField(faults: readonly InputFault[]): FieldFault[] {
  return FIELD_NAMES.flatMap((field) => {
    const found = faults.find((one) => one.field?.replace(/^--/, "") === field);
    return found === undefined ? [] : [{ field, fault: found.fault, mend: found.mend }];
  });
}

function tooBusy(
  input: PlanInput,
  settings: Settings,
  stretches: readonly Stretch[],
): FieldFault | undefined {
  const litresPerContact = numberIn(input.contactVolume, "L");
  const contacts = litresOf(stretches) / litresPerContact;
  const strokes = (contacts * settings.strokes) / settings.contacts;
  const most = Math.max(contacts, strokes);
  if (most <= EVENTS_MOST) return undefined;
  const isMeter = contacts > EVENTS_MOST;
  const litres = Math.ceil((litresPerContact * most * 10) / EVENTS_MOST) / 10;
  return {
    field: isMeter ? "contact-volume" : "ratio",
    fault:
      `makes ${Math.round(isMeter ? contacts : strokes).toLocaleString("en-US")} ${isMeter ? "contacts" : "strokes"} of this day, ` +
      `more than the lab reckons with (${EVENTS_MOST.toLocaleString("en-US")})`,
    mend: isMeter
      ? `give at least ${litres} L a contact, or less flow`
      : "give fewer strokes for a contact, or less flow",
  };
}
