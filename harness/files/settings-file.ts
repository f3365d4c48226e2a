/**
 * What does a settings file say? JSON with the names and units of the options. Harness layer.
 *
 * Checked by one schema, which is also published as JSON Schema for editors. A key that is not a setting, a key that
 * stands twice, and broken JSON are refused with their line.
 */
import { readFileSync } from "node:fs";
import { type Node, parseTree, printParseErrorCode, type ParseError } from "jsonc-parser";
import { z } from "zod";
import { fileFault, InputError, type InputFault } from "./fault.js";
import type { Written } from "./settings.js";
import { type Term, TERMS } from "./terms.js";

/** Largest settings file that is read, in bytes. */
const SETTINGS_FILE_BYTES_MOST = 65_536;

const settingsFileSchema = z
  .strictObject({
    $schema: z.string().optional().describe("Where this schema is, for editors"),
    ...Object.fromEntries(TERMS.map((term) => [term.name, formOf(term).optional()])),
  })
  .describe(
    "Settings of tallystroke: the same names, values and units as the options of `tallystroke simulate`.",
  );

/** Where the schema is published, from the root of the package. */
export const SCHEMA_FILE = "harness/settings.schema.json";

/** The published JSON Schema, as it stands in its file. */
export function schemaText(): string {
  return `${JSON.stringify(z.toJSONSchema(settingsFileSchema), null, 2)}\n`;
}

/** Reads a settings file; throws an InputError with every fault. */
export function readSettingsFile(file: string): Map<string, Written> {
  const text = readText(file);
  const lineAt = (offset: number): number => text.slice(0, offset).split("\n").length;
  const tree = parseJson(file, text);
  const properties = tree?.type === "object" ? (tree.children ?? []) : [];
  const entries = properties.map((property) => {
    const [key, value] = property.children as [Node, Node];
    return { name: key.value as string, value: plain(value), line: lineAt(property.offset) };
  });
  const faults: InputFault[] = entries
    .filter(({ name }, i) => entries.findIndex((other) => other.name === name) !== i)
    .map(({ name, line }) => ({
      file,
      line,
      field: `"${name}"`,
      fault: "stands twice",
      mend: "keep one of them",
    }));
  const checked = settingsFileSchema.safeParse(
    tree?.type === "object"
      ? Object.fromEntries(entries.map(({ name, value }) => [name, value]))
      : plain(tree),
  );
  for (const issue of checked.error?.issues ?? []) faults.push(...faultsOf(file, issue, entries));
  if (faults.length > 0) throw new InputError(faults);
  return new Map(
    entries
      .filter(({ name }) => name !== "$schema")
      .map(({ name, value, line }) => [name, { text: String(value), file, line }]),
  );
}

function formOf(term: Term): z.ZodType {
  const about = `${term.about}. Example: ${JSON.stringify(term.example)}`;
  if (term.form === "number") return z.number().describe(about);
  return (term.form instanceof RegExp ? z.string().regex(term.form) : z.enum(term.form)).describe(about);
}

function readText(file: string): string {
  try {
    const bytes = readFileSync(file);
    if (bytes.length <= SETTINGS_FILE_BYTES_MOST)
      return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch (error) {
    if (!(error instanceof TypeError)) throw new InputError([fileFault(file, error, "read")]);
    throw new InputError([{ file, fault: "is not UTF-8 text", mend: "give a JSON text file" }]);
  }
  const fault = `is longer than ${SETTINGS_FILE_BYTES_MOST} bytes`;
  throw new InputError([{ file, fault, mend: "give a settings file, not a log" }]);
}

function parseJson(file: string, text: string): Node | undefined {
  const errors: ParseError[] = [];
  const tree = parseTree(text, errors, { disallowComments: true, allowTrailingComma: false });
  const [first] = errors;
  if (first === undefined) return tree;
  const before = text.slice(0, first.offset).split("\n");
  const what = printParseErrorCode(first.error).replace(/([a-z])([A-Z])/g, "$1 $2");
  throw new InputError([
    {
      file,
      line: before.length,
      column: (before.at(-1) ?? "").length + 1,
      fault: `is not sound JSON (${what.toLowerCase()})`,
      mend: 'write { "ratio": "2:1", "cap": 120 }, names and texts in double quotes, no comma before the }',
    },
  ]);
}

/** The value of a node; what is not a number or a text stays something that the schema refuses. */
function plain(node: Node | undefined): unknown {
  return node?.type === "object" ? {} : node?.type === "array" ? [] : (node?.value as unknown);
}

function faultsOf(
  file: string,
  issue: z.core.$ZodIssue,
  entries: readonly { readonly name: string; readonly value: unknown; readonly line: number }[],
): InputFault[] {
  const lineOf = (name: string): number | undefined => entries.find((entry) => entry.name === name)?.line;
  if (issue.code === "unrecognized_keys") {
    const mend = `use ${TERMS.map(({ name }) => name).join(", ")}`;
    return issue.keys.map((key) => ({
      file,
      line: lineOf(key),
      field: `"${key}"`,
      fault: "is not a setting",
      mend,
    }));
  }
  const name = String(issue.path[0] ?? "");
  const term = TERMS.find((known) => known.name === name);
  if (term === undefined) {
    return [
      { file, field: name || undefined, fault: issue.message.toLowerCase(), mend: "give one JSON object" },
    ];
  }
  const given = JSON.stringify(entries.find((entry) => entry.name === name)?.value);
  const read =
    typeof given === "string" && given.startsWith('"') ? term.read(JSON.parse(given) as string) : {};
  const mend = "mend" in read ? read.mend : `write it like ${JSON.stringify(term.example)}`;
  return [{ file, line: lineOf(name), field: `"${name}"`, fault: `is ${given}`, mend }];
}
