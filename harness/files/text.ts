/**
 * Is this stream of bytes the text that a trace must be? Harness layer.
 *
 * UTF-8 without byte order mark, lines that end in LF, no NUL, no line longer than a named limit. Looks at every byte
 * once and hands on the chunks as they came, so that nothing is held.
 */
import { isUtf8 } from "node:buffer";
import { InputError } from "./fault.js";

/** Longest line of a trace, in bytes. A settings row, the longest there is, has some 500. */
export const LINE_BYTES_MOST = 4_096;

const NUL = 0x00;
const LF = 0x0a;
const CR = 0x0d;

/** Hands on the chunks of `source` that are sound; throws an InputError with the line at the first that is not. */
export async function* soundText(source: AsyncIterable<Buffer>, file: string): AsyncGenerator<Buffer> {
  const decoder = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true });
  let line = 1;
  let lineBytes = 0;
  let bytes = 0;

  const refuse = (fault: string, mend: string, at = line): never => {
    throw new InputError([{ file, line: at, fault, mend }]);
  };

  for await (const chunk of source) {
    if (bytes === 0) refuseMark(chunk, refuse);
    bytes += chunk.length;
    const firstLine = line;
    for (const byte of chunk) {
      lineBytes += 1;
      if (byte === LF) {
        line += 1;
        lineBytes = 0;
      } else if (byte === NUL) {
        refuse("has a zero byte: this is not a text file", "give a CSV text file");
      } else if (byte === CR) {
        refuse("ends in a carriage return (CR LF line ends)", "convert it: tr -d '\\r' < OLD > NEW");
      } else if (lineBytes > LINE_BYTES_MOST) {
        refuse(
          `is longer than ${LINE_BYTES_MOST} bytes`,
          "give one short row per line, ended by a line feed",
        );
      }
    }
    try {
      decoder.decode(chunk, { stream: true });
    } catch {
      refuse(...NOT_UTF8, firstLine + linesBeforeFault(chunk));
    }
    yield chunk;
  }
  if (bytes === 0)
    throw new InputError([{ file, fault: "is empty", mend: "give a log that starts with time_s" }]);
  try {
    decoder.decode();
  } catch {
    refuse(...NOT_UTF8);
  }
}

const NOT_UTF8: [string, string] = [
  "is not UTF-8 text",
  "give a CSV text file, or convert it: iconv -f LATIN1 -t UTF-8 OLD > NEW",
];

function refuseMark(start: Buffer, refuse: (fault: string, mend: string) => never): void {
  if (start.subarray(0, 3).equals(Buffer.of(0xef, 0xbb, 0xbf))) {
    refuse("starts with a byte order mark", "take it off: tail -c +4 OLD > NEW");
  }
  const mark = start.subarray(0, 2);
  if (mark.equals(Buffer.of(0xff, 0xfe)) || mark.equals(Buffer.of(0xfe, 0xff))) {
    refuse("starts with the byte order mark of UTF-16", "convert it: iconv -f UTF-16 -t UTF-8 OLD > NEW");
  }
}

/** Lines of `chunk` before the first that is not UTF-8. What its start carries over from the last chunk is let pass. */
function linesBeforeFault(chunk: Buffer): number {
  const isContinuation = (byte: number | undefined): boolean => byte !== undefined && (byte & 0xc0) === 0x80;
  let from = 0;
  while (from < 3 && isContinuation(chunk[from])) from += 1;
  for (let lines = 0; ; lines++) {
    const to = chunk.indexOf(LF, from);
    if (to < 0) return isUtf8(chunk.subarray(from)) ? 0 : lines;
    if (!isUtf8(chunk.subarray(from, to))) return lines;
    from = to + 1;
  }
}
