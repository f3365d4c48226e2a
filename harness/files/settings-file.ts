/**
 * What does a settings file say? JSON with the names and units of the options. Harness layer.
 */
import { z } from "zod";
import { type JsonEntry, type ObjectForm, readJsonObject, schemaTextOf } from "./json-object.js";
import type { Written } from "./settings.js";
import { type Term, TERMS } from "./terms.js";

/** Where the schema is published, from the root of the package. */
export const SCHEMA_FILE = "harness/settings.schema.json";

const SETTINGS: ObjectForm = {
  keys: Object.fromEntries(TERMS.map((term) => [term.name, formOf(term).optional()])),
  about:
    "Settings of tallystroke: the same names, values and units as the options of `tallystroke simulate`.",
  example: '{ "ratio": "2:1", "cap": 120 }',
  part: "a setting",
  faultOf: valueFault,
};

/** The published JSON Schema, as it stands in its file. */
export function schemaText(): string {
  return schemaTextOf(SETTINGS);
}

/** Reads a settings file; throws an InputError with every fault. */
export function readSettingsFile(file: string): Map<string, Written> {
  const entries = readJsonObject(file, SETTINGS);
  return new Map(entries.map(({ name, value, line }) => [name, { text: String(value), file, line }]));
}

function formOf(term: Term): z.ZodType {
  const about = `${term.about}. Example: ${JSON.stringify(term.example)}`;
  if (term.form === "number") return z.number().describe(about);
  return (term.form instanceof RegExp ? z.string().regex(term.form) : z.enum(term.form)).describe(about);
}

function valueFault({ name, value }: JsonEntry): { readonly fault: string; readonly mend: string } {
  const term = TERMS.find((known) => known.name === name);
  const read = typeof value === "string" && term !== undefined ? term.read(value) : {};
  const mend = "mend" in read ? read.mend : `write it like ${JSON.stringify(term?.example)}`;
  return { fault: `is ${JSON.stringify(value)}`, mend };
}
