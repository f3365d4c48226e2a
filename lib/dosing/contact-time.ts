/**
 * Is the water in contact with chlorine for long enough? T10, CT achieved, CT required, log inactivation. Dosing layer.
 *
 * Reading rule of the tables: temperature goes down to the next table, pH and chlorine go up to the next column and row,
 * chlorine above 3 mg/L uses the row of 3; nothing is interpolated, so a reading is never too easy.
 * Source: Disinfection Profiling and Benchmarking Guidance Manual, US EPA 815-R-99-013, 1999, Appendix C, reading rule.
 */
import { CT_TEMPERATURES, GIARDIA_3_LOG, GIARDIA_CHLORINE, GIARDIA_PH, VIRUSES } from "./ct-tables.js";
import {
  type Dose,
  type Duration,
  type Exposure,
  type Flow,
  fromSi,
  numberIn,
  type Parsed,
  quantity,
  type Temperature,
  type Volume,
} from "./quantity.js";
import { exact } from "./units.js";

/**
 * T10 / theoretical detention time, by how well a tank is baffled.
 * Source: Disinfection Profiling and Benchmarking Guidance Manual, US EPA, 1999, baffling classification. A pipe counts
 * as 1: contact report of the Oregon Health Authority, Drinking Water Services, 2020; WAC 246-290-636.
 */
export const BAFFLING = { unbaffled: 0.1, poor: 0.3, average: 0.5, superior: 0.7, pipe: 1 } as const;

/** A baffling class, or a factor from a tracer study, above 0 to 1. */
export function parseBaffling(text: string): Parsed<number> {
  const word = text.trim().toLowerCase();
  if (Object.hasOwn(BAFFLING, word)) return { ok: true, value: BAFFLING[word as keyof typeof BAFFLING] };
  const factor = word === "" ? NaN : Number(word);
  if (factor > 0 && factor <= 1) return { ok: true, value: factor };
  const mend = `write ${Object.keys(BAFFLING).join(", ")}, or a factor above 0 and up to 1`;
  return { ok: false, fault: `"${text.trim()}" is not a baffling factor`, mend };
}

/** The time that 90 % of the water stays at least: volume / peak flow · baffling factor (above 0 to 1). */
export function t10(contact: Volume, peak: Flow, baffling: number): Duration {
  return fromSi("duration", contact.si.div(peak.si).mul(exact(baffling)));
}

/** CT: residual at the end of the contact, times T10. */
export function ctAchieved(residual: Dose, contactTime: Duration): Exposure {
  return fromSi("exposure", residual.si.mul(contactTime.si));
}

/** What was read from a table, and where. */
export interface CtReading {
  readonly required: Exposure;
  /** The cell, in words: "4-log viruses at 5 °C, pH 6-9". */
  readonly cell: string;
}

/** Conditions that a table is read for. */
export interface CtConditions {
  /** Of the water, above freezing. */
  readonly temperature: Temperature;
  readonly pH: number;
  /** Free chlorine, for Giardia. */
  readonly residual: Dose;
}

/** CT required for 2-, 3- or 4-log inactivation of viruses by free chlorine. No table below pH 6 or above pH 10. */
export function virusCt(
  log: 2 | 3 | 4,
  { temperature, pH }: Omit<CtConditions, "residual">,
): Parsed<CtReading> {
  if (!(pH >= 6 && pH <= 10)) {
    return {
      ok: false,
      fault: `pH ${pH} is outside the virus table`,
      mend: "the table reads from pH 6 to 10",
    };
  }
  const column = pH <= 9 ? "6-9" : "10";
  const at = temperatureIndex(temperature);
  const required = VIRUSES[column][log][at] as number;
  const cell = `${log}-log viruses at ${CT_TEMPERATURES[at] ?? ""} °C, pH ${column}`;
  return { ok: true, value: { required: quantity("exposure", required, "mg min/L"), cell } };
}

/**
 * CT required for inactivation of Giardia cysts by free chlorine, from the 3-log table in proportion to the log wanted
 * (0.5 to 3). Source of the proportion: 40 CFR 141.534. No table above pH 9; pH below 6 reads the column of 6.
 */
export function giardiaCt(log: number, conditions: CtConditions): Parsed<CtReading> {
  const { temperature, pH, residual } = conditions;
  const pHAt = GIARDIA_PH.findIndex((column) => column >= pH);
  if (pHAt < 0 || pH <= 0) {
    return { ok: false, fault: `pH ${pH} is outside the Giardia table`, mend: "the table reads up to pH 9" };
  }
  const chlorine = numberIn(residual, "mg/L");
  const rowAt = GIARDIA_CHLORINE.findIndex((row) => row >= chlorine);
  const row = rowAt < 0 ? GIARDIA_CHLORINE.length - 1 : rowAt;
  const at = temperatureIndex(temperature);
  const threeLog = GIARDIA_3_LOG[at]?.[row]?.[pHAt] as number;
  const cell = `${log}-log Giardia at ${CT_TEMPERATURES[at] ?? ""} °C, pH ${GIARDIA_PH[pHAt] ?? ""}, ${GIARDIA_CHLORINE[row] ?? ""} mg/L`;
  const required = quantity("exposure", exact(threeLog).mul(exact(log)).div(3), "mg min/L");
  return { ok: true, value: { required, cell } };
}

/**
 * CT for Giardia by regression, mg·min/L: smooth where the table has steps, and 0 to 18 % above the table, in no cell below.
 *
 * Source: Smith, Clark, Pierce, Regli, Journal AWWA, 1995, as used in US EPA 815-R-20-003. In the warm branch the pH
 * coefficient, 0.361, is confirmed by a public implementation only, and copies differ in -2.261 v. -2.216 (0.05 mg·min/L).
 */
export function giardiaCtRegression(log: number, { temperature, pH, residual }: CtConditions): number {
  const t = numberIn(temperature, "degC");
  const c = numberIn(residual, "mg/L");
  return t < 12.5
    ? 0.353 * log * (12.006 + Math.exp(2.46 - 0.073 * t + 0.125 * c + 0.389 * pH))
    : 0.361 * log * (-2.261 + Math.exp(2.69 - 0.065 * t + 0.111 * c + 0.361 * pH));
}

/** Log inactivation achieved: `log` · CT achieved / CT required for that `log`. Source: 40 CFR 141.534 (Giardia). */
export function logInactivation(achieved: Exposure, required: Exposure, log: number): number {
  return achieved.si.div(required.si).mul(exact(log)).valueOf();
}

/** Share inactivated, 0 to 1, of a log inactivation: 1 − 10^−log. */
export function shareInactivated(log: number): number {
  return 1 - 10 ** -log;
}

// Colder than the first table reads the first: it stands for 0.5 °C or lower.
function temperatureIndex(temperature: Temperature): number {
  const celsius = numberIn(temperature, "degC");
  return Math.max(
    0,
    CT_TEMPERATURES.findLastIndex((table) => table <= celsius),
  );
}
