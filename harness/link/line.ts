/**
 * Where does a line begin and end, and is it whole? Bytes to lines and back, with the check of LINK.md, section 1.
 *
 * Harness layer. For every split of the same bytes the same lines. Holds at most one line, whatever comes; nothing that
 * comes makes it throw. After any garbage the next LF starts a good line.
 */
import { crc16 } from "../../lib/pacing/crc16.js";

/** Longest line to a device, and from it: text, check and LF, in bytes. */
export const BYTES_MOST_TO_DEVICE = 64;
export const BYTES_MOST_FROM_DEVICE = 128;
/** The check and the LF: `*CCCC` and one byte more. */
const CHECK_AND_END = 6;

/** Longest text of a checked line, in characters. */
export const TEXT_MOST_TO_DEVICE = BYTES_MOST_TO_DEVICE - CHECK_AND_END;
export const TEXT_MOST_FROM_DEVICE = BYTES_MOST_FROM_DEVICE - CHECK_AND_END;

/** A line that came, or why there is none: its check is wrong, it is too long, it holds what is not printable ASCII. */
export type Line =
  | { readonly ok: true; readonly text: string; readonly checked: boolean }
  | { readonly ok: false; readonly fault: "check" | "long" | "byte" };

export interface LineReader {
  /** The lines that end within `bytes`, in order. Empty lines are left out. */
  push(bytes: Uint8Array): readonly Line[];
}

const LF = 0x0a;
const CR = 0x0d;
const STAR = 0x2a;
const FIRST_PRINTABLE = 0x20;
const LAST_PRINTABLE = 0x7e;
const HEX = "0123456789ABCDEF";

const scratch = new Uint8Array(BYTES_MOST_FROM_DEVICE);

/**
 * The text with its check and its LF. Throws if the text cannot stand on a line: not printable ASCII, a `*`, or too
 * long for any line.
 */
export function checkedLine(text: string): string {
  if (text.length > TEXT_MOST_FROM_DEVICE) throw new RangeError(`line of ${text.length} characters: ${text}`);
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (!isPrintable(code) || code === STAR) throw new RangeError(`not the text of a line: ${text}`);
    scratch[i] = code;
  }
  return `${text}*${hex(crc16(scratch, text.length))}\n`;
}

/** Reads lines of at most `bytesMost` bytes, LF and check included; a CR before the LF does not count. */
export function newLineReader(bytesMost: number): LineReader {
  // Room for a full line without its LF, and for the CR that may come before that.
  const kept = Buffer.alloc(bytesMost);
  // How many bytes of the line have come, kept or not: never more than one past what there is room for.
  let length = 0;
  let isPrintableSoFar = true;

  const endLine = (): Line | undefined => {
    const hasReturn = length > 0 && length <= bytesMost && kept[length - 1] === CR;
    const end = hasReturn ? length - 1 : length;
    const line = readLine(kept, end, bytesMost, isPrintableSoFar);
    length = 0;
    isPrintableSoFar = true;
    return line;
  };

  const take = (byte: number): void => {
    // A CR is sound only as the last byte before LF: another byte after it shows that it was not.
    if (length > 0 && length <= bytesMost && kept[length - 1] === CR) isPrintableSoFar = false;
    if (byte !== CR && !isPrintable(byte)) isPrintableSoFar = false;
    if (length < bytesMost) kept[length] = byte;
    if (length <= bytesMost) length += 1;
  };

  return {
    push(bytes) {
      const lines: Line[] = [];
      for (const byte of bytes) {
        if (byte !== LF) take(byte);
        else {
          const line = endLine();
          if (line !== undefined) lines.push(line);
        }
      }
      return lines;
    },
  };
}

/** The line in the first `end` bytes; nothing for an empty one. */
function readLine(kept: Buffer, end: number, bytesMost: number, printable: boolean): Line | undefined {
  if (end === 0) return undefined;
  if (end > bytesMost - 1) return { ok: false, fault: "long" };
  if (!printable) return { ok: false, fault: "byte" };
  const star = kept.subarray(0, end).indexOf(STAR);
  if (star < 0) return { ok: true, text: kept.toString("latin1", 0, end), checked: false };
  const isWhole = kept.toString("latin1", star + 1, end) === hex(crc16(kept, star));
  return isWhole
    ? { ok: true, text: kept.toString("latin1", 0, star), checked: true }
    : { ok: false, fault: "check" };
}

function isPrintable(code: number): boolean {
  return code >= FIRST_PRINTABLE && code <= LAST_PRINTABLE;
}

function hex(crc: number): string {
  return (
    HEX.charAt(crc >> 12) + HEX.charAt((crc >> 8) & 15) + HEX.charAt((crc >> 4) & 15) + HEX.charAt(crc & 15)
  );
}
