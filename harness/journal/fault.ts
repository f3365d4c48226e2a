/**
 * Why can a journal not be kept, or not be read? Harness layer. What the disk did, as a value in words.
 */
import { fileFault } from "../files/fault.js";

export interface JournalFault {
  readonly kind:
    /** Another feed has it. */
    | "in use"
    /** The disk is full. */
    | "full"
    /** It may not be written, or its folder cannot be made. */
    | "not writable"
    /** Its bytes are not what was written. */
    | "damaged"
    /** No journal, or one of another layout. */
    | "not a journal"
    /** The disk failed otherwise. */
    | "failed";
  readonly message: string;
  readonly mend: string;
}

export class JournalError extends Error {
  override readonly name = "JournalError";

  constructor(readonly fault: JournalFault) {
    super(`${fault.message}. Mend: ${fault.mend}.`);
  }
}

const NEW_ONE = "keep the folder as it is, and name a new one with --journal";

// By the first word of SQLite's result codes; an open that fails gives only the number of the code in its text.
const KINDS: { readonly [code: string]: readonly [JournalFault["kind"], what: string, mend: string] } = {
  SQLITE_BUSY: ["in use", "another feed keeps it", "end that one, or name another folder with --journal"],
  SQLITE_LOCKED: ["in use", "another feed keeps it", "end that one, or name another folder with --journal"],
  SQLITE_FULL: ["full", "the disk is full", "make room, and start again: it goes on where it stopped"],
  SQLITE_READONLY: [
    "not writable",
    "it may not be written",
    "ask for the right to write, or use another disk",
  ],
  SQLITE_CANTOPEN: ["not writable", "it cannot be opened", "check the folder, its rights and its disk"],
  SQLITE_PERM: ["not writable", "permission is denied", "ask for the right to write, or use another disk"],
  SQLITE_CORRUPT: ["damaged", "its bytes are damaged", NEW_ONE],
  SQLITE_NOTADB: ["damaged", "it is no database", NEW_ONE],
  SQLITE_IOERR: ["failed", "the disk failed", "check the disk, and start again: it goes on where it stopped"],
};
const OPEN_CODES: { readonly [number: string]: string } = {
  5: "SQLITE_BUSY",
  8: "SQLITE_READONLY",
  10: "SQLITE_IOERR",
  11: "SQLITE_CORRUPT",
  13: "SQLITE_FULL",
  14: "SQLITE_CANTOPEN",
  26: "SQLITE_NOTADB",
};

export const READ_ON = "keep a copy of the folder as it is; what stands before the damage can be read";

/** What the database or the operating system said, in words. */
export function journalError(folder: string, error: unknown, doing: "kept" | "read" = "kept"): JournalError {
  if (error instanceof JournalError) return error;
  const { message } = error as Error;
  const code = codeOf(error as Error & { readonly code?: unknown });
  const known = KINDS[/^SQLITE_[A-Z]+/.exec(code)?.[0] ?? ""];
  if (known !== undefined) {
    const [kind, what, ownMend] = known;
    const mend = doing === "read" && kind === "damaged" ? READ_ON : ownMend;
    return new JournalError({ kind, message: `${folder}: the journal cannot be ${doing}: ${what}`, mend });
  }
  if (/^E[A-Z]+$/.test(code)) {
    const { fault, mend } = fileFault(folder, error, doing === "kept" ? "written" : "read");
    const kind = code === "ENOSPC" ? "full" : "not writable";
    return new JournalError({ kind, message: `${folder}: the journal ${fault}`, mend });
  }
  return new JournalError({
    kind: "failed",
    message: `${folder}: the journal cannot be ${doing}: ${message}`,
    mend: "check the folder and the disk it is on",
  });
}

function codeOf({ code, message }: Error & { readonly code?: unknown }): string {
  if (typeof code === "string" && code !== "") return code;
  return OPEN_CODES[/: (\d+)"\)$/.exec(message)?.[1] ?? ""] ?? "";
}
