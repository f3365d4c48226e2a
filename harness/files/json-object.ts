/**
 * What does a JSON file of one flat object say, and on which line? Settings and plan files are such. Harness layer.
 *
 * Checked by one schema, which is also published as JSON Schema for editors. Broken JSON, a key that is not known or
 * stands twice, and a value of the wrong kind are refused with their line.
 */
import { readFileSync } from "node:fs";
import { type Node, type ParseError, parseTree, printParseErrorCode } from "jsonc-parser";
import { z } from "zod";
import { fileFault, InputError, type InputFault } from "./fault.js";

/** Largest file that is read, in bytes. */
const BYTES_MOST = 65_536;

/** What keys such a file may have, and how it is told what is wrong with them. */
export interface ObjectForm {
  /** Every key, each optional. */
  readonly keys: { readonly [name: string]: z.ZodType };
  /** What the file is, for the schema. */
  readonly about: string;
  /** What a sound file looks like. */
  readonly example: string;
  /** What a key that is not known is not: "a setting". */
  readonly part: string;
  /** What is wrong with a value that the schema refuses, and the mend. */
  faultOf(entry: JsonEntry): { readonly fault: string; readonly mend: string };
}

/** One key of the object. A value that is an object or a list is an empty one, which a schema refuses as well. */
export interface JsonEntry {
  readonly name: string;
  readonly value: unknown;
  readonly line: number;
}

const SCHEMA_KEY = "$schema";

/** The published JSON Schema of a form, as it stands in its file. */
export function schemaTextOf(form: ObjectForm): string {
  return `${JSON.stringify(z.toJSONSchema(schemaOf(form)), null, 2)}\n`;
}

/** Reads a file, without its `$schema`; throws an InputError with every fault. */
export function readJsonObject(file: string, form: ObjectForm): JsonEntry[] {
  return jsonObjectIn(readText(file), file, form);
}

/** The same of a text that was read before; `file` is what faults call it. */
export function jsonObjectIn(text: string, file: string, form: ObjectForm): JsonEntry[] {
  const tree = parsed(file, text, form);
  const entries = (tree.children ?? []).map((property) => {
    const [key, value] = property.children as [Node, Node];
    return { name: key.value as string, value: plain(value), ...placeOf(text, property.offset) };
  });
  const twice = entries.filter(({ name }, at) => entries.findIndex((other) => other.name === name) !== at);
  const faults: InputFault[] = twice.map(({ name, line }) => ({
    file,
    line,
    field: `"${name}"`,
    fault: "stands twice",
    mend: "keep one of them",
  }));
  const checked = schemaOf(form).safeParse(
    Object.fromEntries(entries.map(({ name, value }) => [name, value])),
  );
  const wrong = new Set((checked.error?.issues ?? []).flatMap(namesIn));
  for (const entry of entries.filter(({ name }) => wrong.delete(name))) {
    faults.push({ file, line: entry.line, field: `"${entry.name}"`, ...faultIn(entry, form) });
  }
  if (faults.length > 0) throw new InputError(faults);
  return entries.filter(({ name }) => name !== SCHEMA_KEY);
}

function schemaOf({ keys, about }: ObjectForm): z.ZodType {
  return z
    .strictObject({
      [SCHEMA_KEY]: z.string().optional().describe("Where this schema is, for editors"),
      ...keys,
    })
    .describe(about);
}

function namesIn(issue: z.core.$ZodIssue): string[] {
  return issue.code === "unrecognized_keys" ? issue.keys : [String(issue.path[0])];
}

function faultIn(entry: JsonEntry, form: ObjectForm): { readonly fault: string; readonly mend: string } {
  if (entry.name === SCHEMA_KEY) return { fault: "is not a text", mend: "write where the schema is" };
  if (Object.hasOwn(form.keys, entry.name)) return form.faultOf(entry);
  return { fault: `is not ${form.part}`, mend: `use ${Object.keys(form.keys).join(", ")}` };
}

function readText(file: string): string {
  let bytes: Buffer;
  try {
    bytes = readFileSync(file);
  } catch (error) {
    throw new InputError([fileFault(file, error, "read")]);
  }
  if (bytes.length > BYTES_MOST) {
    throw new InputError([
      { file, fault: `is longer than ${BYTES_MOST} bytes`, mend: "name a JSON file, not a log" },
    ]);
  }
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    throw new InputError([{ file, fault: "is not UTF-8 text", mend: "give a JSON text file" }]);
  }
}

/** The object, as a tree. */
function parsed(file: string, text: string, { example }: ObjectForm): Node {
  const errors: ParseError[] = [];
  const tree = parseTree(text, errors, { disallowComments: true, allowTrailingComma: false });
  const [first] = errors;
  if (first !== undefined) {
    const what = printParseErrorCode(first.error).replace(/([a-z])([A-Z])/g, "$1 $2");
    const fault = `is not sound JSON (${what.toLowerCase()})`;
    const mend = `write ${example}, names and texts in double quotes, no comma before the }`;
    throw new InputError([{ file, ...placeOf(text, first.offset), fault, mend }]);
  }
  if (tree?.type === "object") return tree;
  throw new InputError([{ file, fault: "is not one JSON object", mend: `write ${example}` }]);
}

function placeOf(text: string, offset: number): { readonly line: number; readonly column: number } {
  const before = text.slice(0, offset).split("\n");
  return { line: before.length, column: (before.at(-1) ?? "").length + 1 };
}

function plain(node: Node): unknown {
  return node.type === "object" ? {} : node.type === "array" ? [] : (node.value as unknown);
}
