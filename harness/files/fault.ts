/**
 * What is wrong with what was given to the command, where, and what to do? Harness layer.
 *
 * The one error of the edge: everything that a user can mend by giving something else. It ends in exit status 2.
 */

/** One thing that is wrong. */
export interface InputFault {
  /** The file, or undefined for the command line. */
  readonly file?: string | undefined;
  /** 1 for the first line. */
  readonly line?: number | undefined;
  readonly column?: number | undefined;
  /** The option, setting or column. */
  readonly field?: string | undefined;
  readonly fault: string;
  readonly mend: string;
}

/** Input that cannot be used; holds every fault that was found. */
export class InputError extends Error {
  override readonly name = "InputError";

  constructor(readonly faults: readonly InputFault[]) {
    super(faults.map(formatInputFault).join("\n"));
  }
}

/** `FILE line N: FIELD what is wrong. Mend: what to do.` */
export function formatInputFault({ file, line, column, field, fault, mend }: InputFault): string {
  const place = [
    file,
    line === undefined ? "" : `line ${line}`,
    column === undefined ? "" : `column ${column}`,
  ]
    .filter((part) => part !== undefined && part !== "")
    .join(" ");
  const subject = field === undefined ? "" : `${field} `;
  return `${place === "" ? "" : `${place}: `}${subject}${fault}. Mend: ${mend}.`;
}

/** What the operating system said about a file, in words, with a mend. */
export function fileFault(file: string, error: unknown, doing: "read" | "written" | "made"): InputFault {
  const { code, message } = error as NodeJS.ErrnoException;
  const [fault, mend] = SYSTEM_FAULTS[code ?? ""] ?? [message, "check the file and the disk it is on"];
  return { file: file === "" ? '""' : file, fault: `cannot be ${doing}: ${fault}`, mend };
}

const SYSTEM_FAULTS: { readonly [code: string]: readonly [string, string] | undefined } = {
  ENOENT: ["there is no such file or folder", "check the name and its folder"],
  ENOTDIR: ["a part of its path is not a folder", "check the path"],
  EISDIR: ["it is a folder", "name a file"],
  EACCES: ["permission is denied", "ask for the right, or name another file"],
  EPERM: ["permission is denied", "ask for the right, or name another file"],
  EROFS: ["the disk is read-only", "name a file on another disk"],
  ENOSPC: ["the disk is full", "make room, or name a file on another disk"],
  EPIPE: ["its reader has gone away (closed pipe)", "let the reader read to the end, or write to a file"],
  ENXIO: ["it cannot be opened by this name", "name a regular file"],
};
