/**
 * What does a live feed tell a person, and in which words? Status to rows, before anything is laid out. Harness layer.
 *
 * Pure. Names come from devices and paths: whatever could move the cursor is taken out of them here.
 */
import { stripVTControlCharacters } from "node:util";
import { quantity, showNumber, shown } from "../../lib/dosing/index.js";
import { type InhibitCause, SHED_CAUSES, type ShedCause } from "../../lib/pacing/index.js";
import { ALARM_WORDS, clock, many, whole } from "../report/words.js";
import type { DoseStatus, DriveStatus, EndStatus } from "./status.js";

/** How a line is stressed. Its words alone carry the meaning. */
export type Tone = "plain" | "strong" | "alarm";

export interface Row {
  /** Empty for a sentence without one. */
  readonly label: string;
  readonly text: string;
  readonly tone: Tone;
  /** What a short window can do without. */
  readonly isOptional: boolean;
}

/** Columns of a bar that shows how much of the cap is used. */
const BAR_COLUMNS = 10;

const INHIBIT_WORDS: { readonly [cause in InhibitCause]: string } = {
  permission: "no permission",
  tank: "tank empty",
  pump: "pump fault",
  flow: "no flow",
  other: "another interlock",
};

const SHED_SHORT: { readonly [cause in ShedCause]: string } = {
  limit: "at the owed limit",
  still: "in still water",
  hold: "by a hold",
  inhibit: "by an interlock",
  trip: "by the guard",
  power: "by a power loss",
};

/** What is being fed, and since when. */
export function titleOf({ ratio, elapsedMicros }: DriveStatus): string {
  return `Tallystroke drive, ratio ${ratio}, running ${clock(elapsedMicros)}`;
}

/** Whether strokes are made now, and what ends it if they are not. */
export function stateOf(status: DriveStatus): Row {
  const { meter, pump, tripped, held, inhibits, priming, owed } = status;
  const stops = [
    ...(meter.isLost ? ["METER LOST"] : []),
    ...(pump.isLost ? ["PUMP LOST"] : []),
    ...(tripped ? ["TRIPPED until reset"] : []),
    ...(held ? ["HELD until it goes on"] : []),
    ...(inhibits.length > 0
      ? [`FORBIDDEN: ${inhibits.map((cause) => INHIBIT_WORDS[cause]).join(", ")}`]
      : []),
  ];
  if (stops.length > 0) return sentence(`No strokes. ${stops.join("; ")}`, "alarm");
  if (priming) return sentence("PRIMING: it ends by itself once p is let go", "alarm");
  return sentence(owed > 0 ? "Feeding" : "Ready: nothing is owed", "strong");
}

/** What has passed and been fed, what matters most first. */
export function countRows(status: DriveStatus): Row[] {
  const { contacts, ignored, rejected, earned, owed, remainder, remainderOf } = status;
  return [
    row("Contacts", `${whole(contacts)} (${whole(ignored)} ignored, ${whole(rejected)} rejected)`),
    row("Owed", `${many(owed, "stroke")} and ${whole(remainder)}/${whole(remainderOf)} of one`),
    strokesRow(status),
    rateRow(status),
    ...(status.dose === undefined ? [] : [doseRow(status.dose)]),
    shedRow(status),
    optional("Earned", many(earned, "stroke")),
    ...(status.dose === undefined
      ? [optional("Dose", "not known without a plan")]
      : [optional("Water", waterText(status.dose))]),
  ];
}

/** What the feed is connected to. A lost end is never left out. */
export function endRows({ meter, pump, journal }: DriveStatus): Row[] {
  return [endRow("Meter", meter), endRow("Pump", pump), optional("Journal", harmless(journal))];
}

/** One sentence for each alarm that stands, then for each trouble, the newest first. */
export function warningsOf({ alarms, troubles }: DriveStatus): string[] {
  return [
    ...alarms.map((alarm) => `ALARM ${ALARM_WORDS[alarm]}`),
    ...[...troubles]
      .sort((a, b) => b.atMicros - a.atMicros)
      .map(({ atMicros, words }) => `TROUBLE at ${clock(atMicros)}: ${harmless(words)}`),
  ];
}

/** Text with nothing in it that a terminal would obey. */
function harmless(text: string): string {
  return stripVTControlCharacters(text).replace(/\p{C}/gu, "?");
}

function strokesRow({ paced, primed, uncertain }: DriveStatus): Row {
  const made = `${whole(paced)} paced, ${whole(primed)} primed`;
  return uncertain === 0
    ? row("Strokes", made)
    : row("Strokes", `${made}, ${whole(uncertain)} uncertain`, "alarm");
}

function rateRow({ strokesPerMinute, capPerMinute }: DriveStatus): Row {
  const share = capPerMinute > 0 ? Math.min(1, Math.max(0, strokesPerMinute / capPerMinute)) : 0;
  const filled = Math.round(share * BAR_COLUMNS);
  const bar = `[${"#".repeat(filled)}${"-".repeat(BAR_COLUMNS - filled)}]`;
  return row("Rate", `${showNumber(strokesPerMinute)}/min, cap ${showNumber(capPerMinute)} ${bar}`);
}

function doseRow({ milligramsPerLitre, wantedMilligramsPerLitre }: DoseStatus): Row {
  const wanted = `${showNumber(wantedMilligramsPerLitre)} planned`;
  if (milligramsPerLitre === undefined) return row("Dose", `no water yet; ${wanted} (mg/L)`);
  const off = (100 * (milligramsPerLitre - wantedMilligramsPerLitre)) / wantedMilligramsPerLitre;
  const compared = Number.isFinite(off) ? ` (${percent(off)})` : "";
  return row("Dose", `${showNumber(milligramsPerLitre)} mg/L so far, ${wanted}${compared}`);
}

function percent(off: number): string {
  const size = Math.abs(off).toFixed(1);
  if (size === "0.0") return "as planned";
  return `${Number(size).toLocaleString("en-US")} % ${off < 0 ? "below" : "above"}`;
}

function waterText({ litres, millilitres }: DoseStatus): string {
  return (
    `${shown(quantity("volume", litres, "L"), 5)}; solution ${shown(quantity("volume", millilitres, "mL"), 5)}; ` +
    "reckoned, not measured"
  );
}

function shedRow({ shed }: DriveStatus): Row {
  const parts = SHED_CAUSES.filter((cause) => shed[cause] > 0).map(
    (cause) => `${whole(shed[cause])} ${SHED_SHORT[cause]}`,
  );
  return parts.length === 0 ? row("Shed", "none") : row("Shed", parts.join(", "), "strong");
}

function endRow(label: string, { spec, name, isLost }: EndStatus): Row {
  const text = harmless(name === spec ? spec : `${spec}, ${name}`);
  return isLost ? row(label, `LOST: ${text}`, "alarm") : optional(label, text);
}

function sentence(text: string, tone: Tone): Row {
  return { label: "", text, tone, isOptional: false };
}

function row(label: string, text: string, tone: Tone = "plain"): Row {
  return { label, text, tone, isOptional: false };
}

function optional(label: string, text: string): Row {
  return { label, text, tone: "plain", isOptional: true };
}
