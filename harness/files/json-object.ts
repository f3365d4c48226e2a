/**
 * What does a JSON file of one flat object say, and on which line? Harness layer.
 *
 * Broken JSON, a key that stands twice, and anything but one object are refused with their line.
 */
import { readFileSync } from "node:fs";
import { type Node, type ParseError, parseTree, printParseErrorCode } from "jsonc-parser";
import { fileFault, InputError } from "./fault.js";

/** Largest file that is read, in bytes. */
const BYTES_MOST = 65_536;

/** One key of the object. A value that is an object or a list stays one, so that a schema refuses it. */
export interface JsonEntry {
  readonly name: string;
  readonly value: unknown;
  readonly line: number;
}

/** Reads the file; throws an InputError with every fault. `example` shows what a sound file looks like. */
export function readJsonObject(file: string, example: string): JsonEntry[] {
  const text = readText(file);
  const lineAt = (offset: number): number => text.slice(0, offset).split("\n").length;
  const errors: ParseError[] = [];
  const tree = parseTree(text, errors, { disallowComments: true, allowTrailingComma: false });
  const [first] = errors;
  if (first !== undefined) {
    const what = printParseErrorCode(first.error).replace(/([a-z])([A-Z])/g, "$1 $2");
    const fault = `is not sound JSON (${what.toLowerCase()})`;
    const mend = `write ${example}, names and texts in double quotes, no comma before the }`;
    throw new InputError([{ file, line: lineAt(first.offset), fault, mend }]);
  }
  if (tree?.type !== "object") {
    throw new InputError([{ file, fault: "is not one JSON object", mend: `write ${example}` }]);
  }
  const entries = (tree.children ?? []).map((property) => {
    const [key, value] = property.children as [Node, Node];
    return { name: key.value as string, value: plain(value), line: lineAt(property.offset) };
  });
  const twice = entries.filter(({ name }, at) => entries.findIndex((other) => other.name === name) !== at);
  if (twice.length > 0) {
    const faultOf = ({ name, line }: JsonEntry) => ({
      file,
      line,
      field: `"${name}"`,
      fault: "stands twice",
      mend: "keep one of them",
    });
    throw new InputError(twice.map(faultOf));
  }
  return entries;
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
      { file, fault: `is longer than ${BYTES_MOST} bytes`, mend: "give a smaller file" },
    ]);
  }
  try {
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch {
    throw new InputError([{ file, fault: "is not UTF-8 text", mend: "give a JSON text file" }]);
  }
}

function plain(node: Node): unknown {
  return node.type === "object" ? {} : node.type === "array" ? [] : (node.value as unknown);
}
