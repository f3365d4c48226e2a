/**
 * What does a plan file say? JSON with the names and texts of the options. Harness layer.
 */
import { z } from "zod";
import {
  type JsonEntry,
  jsonObjectIn,
  type ObjectForm,
  readJsonObject,
  schemaTextOf,
} from "../files/json-object.js";
import { OTHERS, QUANTITIES, type TermName } from "./terms.js";

/** Where the schema is published, from the root of the package. */
export const PLAN_SCHEMA_FILE = "harness/plan.schema.json";

const NUMBERS = new Set<string>([
  "cap",
  "ph",
  "specific-gravity",
  "baffling",
  "tolerance",
  "largest",
  "stroke-setting",
]);

const PLAN: ObjectForm = {
  keys: {
    ...Object.fromEntries(
      [...QUANTITIES, ...OTHERS].map(({ name, about, example }) => {
        const text = z.string().min(1).max(60);
        const form = NUMBERS.has(name) ? z.union([z.number(), text]) : text;
        return [name, form.optional().describe(`${about}. Example: ${JSON.stringify(example)}`)];
      }),
    ),
    measured: z
      .boolean()
      .optional()
      .describe("the stroke volume was measured by a drawdown at the setting in use"),
  },
  about: "A plan of tallystroke: the same names and texts as the options of `tallystroke plan`.",
  example: '{ "contact-volume": "10 gal", "dose": "1.2 mg/L" }',
  part: "part of a plan",
  faultOf: valueFault,
};

/** The published JSON Schema, as it stands in its file. */
export function planSchemaText(): string {
  return schemaTextOf(PLAN);
}

export interface PlanFile {
  readonly texts: Map<TermName, string>;
  /** Line of each key. */
  readonly lines: ReadonlyMap<string, number>;
  readonly measured: boolean;
}

/** Reads a plan file; throws an InputError with every fault. */
export function readPlanFile(file: string): PlanFile {
  return planOfEntries(readJsonObject(file, PLAN));
}

/** The same of the text of a plan file; `name` is what faults call it. */
export function planFileIn(text: string, name: string): PlanFile {
  return planOfEntries(jsonObjectIn(text, name, PLAN));
}

function planOfEntries(entries: readonly JsonEntry[]): PlanFile {
  const told = entries.filter(({ name }) => name !== "measured");
  return {
    texts: new Map(told.map(({ name, value }) => [name as TermName, String(value)])),
    lines: new Map(entries.map(({ name, line }) => [name, line])),
    measured: entries.some(({ name, value }) => name === "measured" && value === true),
  };
}

function valueFault({ name }: JsonEntry): { readonly fault: string; readonly mend: string } {
  const example = [...QUANTITIES, ...OTHERS].find((term) => term.name === name)?.example;
  const mend = example === undefined ? "write true or false" : `write it as a text like "${example}"`;
  return { fault: "is not of the right kind", mend };
}
