/**
 * What does a plan file say? JSON with the names and texts of the options. Harness layer.
 *
 * Checked by one schema, which is also published as JSON Schema for editors.
 */
import { z } from "zod";
import { InputError, type InputFault } from "../files/fault.js";
import { type JsonEntry, readJsonObject } from "../files/json-object.js";
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

const planFileSchema = z
  .strictObject({
    $schema: z.string().optional().describe("Where this schema is, for editors"),
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
  })
  .describe("A plan of tallystroke: the same names and texts as the options of `tallystroke plan`.");

/** The published JSON Schema, as it stands in its file. */
export function planSchemaText(): string {
  return `${JSON.stringify(z.toJSONSchema(planFileSchema), null, 2)}\n`;
}

const EXAMPLE = '{ "contact-volume": "10 gal", "dose": "1.2 mg/L" }';

export interface PlanFile {
  readonly texts: Map<TermName, string>;
  /** Line of each key. */
  readonly lines: ReadonlyMap<string, number>;
  readonly measured: boolean;
}

/** Reads a plan file; throws an InputError with every fault. */
export function readPlanFile(file: string): PlanFile {
  const entries = readJsonObject(file, EXAMPLE);
  const checked = planFileSchema.safeParse(
    Object.fromEntries(entries.map(({ name, value }) => [name, value])),
  );
  if (!checked.success) {
    throw new InputError(checked.error.issues.flatMap((issue) => faultsOf(file, issue, entries)));
  }
  const told = entries.filter(({ name }) => name !== "$schema" && name !== "measured");
  return {
    texts: new Map(told.map(({ name, value }) => [name as TermName, String(value)])),
    lines: new Map(entries.map(({ name, line }) => [name, line])),
    measured: entries.some(({ name, value }) => name === "measured" && value === true),
  };
}

function faultsOf(file: string, issue: z.core.$ZodIssue, entries: readonly JsonEntry[]): InputFault[] {
  const lineOf = (name: string): number | undefined => entries.find((entry) => entry.name === name)?.line;
  if (issue.code === "unrecognized_keys") {
    const mend = `use ${[...QUANTITIES, ...OTHERS].map(({ name }) => name).join(", ")}, measured`;
    return issue.keys.map((key) => ({
      file,
      line: lineOf(key),
      field: `"${key}"`,
      fault: "is not part of a plan",
      mend,
    }));
  }
  const name = String(issue.path[0] ?? "");
  const example = [...QUANTITIES, ...OTHERS].find((term) => term.name === name)?.example;
  const mend = example === undefined ? "write true or false" : `write it as a text like "${example}"`;
  return [{ file, line: lineOf(name), field: `"${name}"`, fault: "is not of the right kind", mend }];
}
