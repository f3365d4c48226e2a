/**
 * Are lines told apart and proved whole, whatever comes and however it is cut?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  BYTES_MOST_FROM_DEVICE,
  BYTES_MOST_TO_DEVICE,
  checkedLine,
  type Line,
  newLineReader,
  TEXT_MOST_FROM_DEVICE,
} from "../../harness/link/line.js";
import { crc16 } from "../../lib/pacing/crc16.js";
import { DEVICE_TEXTS, REQUEST_TEXTS } from "./messages.js";
import { runs } from "../support/runs.js";

const RUNS = runs(500);
const MOSTS = [BYTES_MOST_TO_DEVICE, BYTES_MOST_FROM_DEVICE];

const ascii = (text: string): Buffer => Buffer.from(text, "latin1");

function read(bytes: Uint8Array, bytesMost: number): readonly Line[] {
  return newLineReader(bytesMost).push(bytes);
}

/** Bytes as they matter to a reader: whole lines, ends of lines, stars, long runs, and noise. */
const soup: fc.Arbitrary<Buffer> = fc
  .array(
    fc.oneof(
      fc.constantFrom(...REQUEST_TEXTS, ...DEVICE_TEXTS).map((text) => ascii(checkedLine(text))),
      fc.constantFrom("\n", "\r", "\r\n", "*", "*29B1\n", "123456789*29B1\r\n", "time\n").map(ascii),
      fc.integer({ min: 50, max: 140 }).map((length) => ascii("x".repeat(length))),
      fc.uint8Array({ maxLength: 20 }).map((bytes) => Buffer.from(bytes)),
    ),
    { maxLength: 12 },
  )
  .map((pieces) => Buffer.concat(pieces));

/** The page's section 1 once more, on text that is there as a whole. */
function linesOf(bytes: Buffer, bytesMost: number): Line[] {
  const ended = bytes.toString("latin1").split("\n").slice(0, -1);
  return ended
    .map((line) => line.replace(/\r$/, ""))
    .filter((line) => line !== "")
    .map((line): Line => {
      if (line.length + 1 > bytesMost) return { ok: false, fault: "long" };
      if (/[^\x20-\x7e]/.test(line)) return { ok: false, fault: "byte" };
      if (!line.includes("*")) return { ok: true, text: line, checked: false };
      const [, text, check] = /^([^*]*)\*([0-9A-F]{4})$/.exec(line) ?? [];
      if (text === undefined || check === undefined) return { ok: false, fault: "check" };
      return parseInt(check, 16) === crc16(ascii(text), text.length)
        ? { ok: true, text, checked: true }
        : { ok: false, fault: "check" };
    });
}

test("the check of 123456789 is the catalogue's 29B1", () => {
  // G. Cook, Catalogue of parametrised CRC algorithms, CRC-16/IBM-3740, check value.
  expect(checkedLine("123456789")).toBe("123456789*29B1\n");
});

test("a text that cannot stand on a line is refused, the longest that can is not", () => {
  for (const text of ["a*b", "a\nb", "a\rb", "\t", "é", "\x7f", "x".repeat(TEXT_MOST_FROM_DEVICE + 1)]) {
    expect(() => checkedLine(text), text).toThrow(RangeError);
  }
  const longest = checkedLine("~".repeat(TEXT_MOST_FROM_DEVICE));
  expect(longest).toHaveLength(BYTES_MOST_FROM_DEVICE);
  expect(read(ascii(longest), BYTES_MOST_FROM_DEVICE)).toEqual([
    { ok: true, text: "~".repeat(TEXT_MOST_FROM_DEVICE), checked: true },
  ]);
});

test("any text that can stand on a line is read back from it, with LF and with CR LF", () => {
  const text = fc
    .string({ unit: "grapheme-ascii", minLength: 1, maxLength: TEXT_MOST_FROM_DEVICE })
    .filter((each) => /^[\x20-\x7e]*$/.test(each) && !each.includes("*"));
  fc.assert(
    fc.property(text, (each) => {
      const line = checkedLine(each);
      for (const sent of [line, line.replace("\n", "\r\n")]) {
        expect(read(ascii(sent), BYTES_MOST_FROM_DEVICE)).toEqual([{ ok: true, text: each, checked: true }]);
      }
    }),
    { numRuns: RUNS },
  );
});

test.each(MOSTS)(
  "any bytes are read as the page says, and the next good line after them (%i)",
  (bytesMost) => {
    fc.assert(
      fc.property(soup, (bytes) => {
        const good = checkedLine("1 time");
        const lines = read(Buffer.concat([bytes, ascii(`\n${good}`)]), bytesMost);
        expect(lines).toEqual(linesOf(Buffer.concat([bytes, ascii(`\n${good}`)]), bytesMost));
        expect(lines.at(-1)).toEqual({ ok: true, text: "1 time", checked: true });
      }),
      { numRuns: RUNS },
    );
  },
);

test("however the bytes are cut, the lines are the same", () => {
  fc.assert(
    fc.property(soup, fc.array(fc.nat({ max: 400 })), (bytes, places) => {
      const whole = read(bytes, BYTES_MOST_TO_DEVICE);
      const cuts = [0, ...places.filter((at) => at < bytes.length).sort((a, b) => a - b), bytes.length];
      const reader = newLineReader(BYTES_MOST_TO_DEVICE);
      const cut = cuts.flatMap((at, i) => reader.push(bytes.subarray(at, cuts[i + 1])));
      expect(cut).toEqual(whole);
    }),
    { numRuns: RUNS },
  );
});

test("a session that is cut at any one place, or into single bytes, gives the same lines", () => {
  const bytes = ascii([...REQUEST_TEXTS.map(checkedLine), "x".repeat(200), "\r\n", "time\r\n"].join(""));
  const whole = read(bytes, BYTES_MOST_TO_DEVICE);
  expect(whole).toHaveLength(REQUEST_TEXTS.length + 2);
  for (let at = 0; at <= bytes.length; at++) {
    const reader = newLineReader(BYTES_MOST_TO_DEVICE);
    expect([...reader.push(bytes.subarray(0, at)), ...reader.push(bytes.subarray(at))]).toEqual(whole);
  }
  const reader = newLineReader(BYTES_MOST_TO_DEVICE);
  expect([...bytes].flatMap((byte) => reader.push(Uint8Array.of(byte)))).toEqual(whole);
});

test.each(MOSTS)("a line of %i bytes with its LF is read, one byte more is too long", (bytesMost) => {
  const fits = "x".repeat(bytesMost - 1);
  const sent = ascii(`${fits}\n${fits}\r\n${fits}x\n${fits}x\r\n${"x".repeat(3 * bytesMost)}\r\nend\n`);
  const typed = { ok: true, text: fits, checked: false };
  const long = { ok: false, fault: "long" };
  expect(read(sent, bytesMost)).toEqual([
    typed,
    typed,
    long,
    long,
    long,
    { ok: true, text: "end", checked: false },
  ]);
});

test("a line that does not end is held in constant memory, and is too long when it does", () => {
  const reader = newLineReader(BYTES_MOST_TO_DEVICE);
  const piece = Buffer.alloc(65_536, "x");
  const held = (): number => {
    const { heapUsed, external } = process.memoryUsage();
    return heapUsed + external;
  };
  const before = held();
  let lines = 0;
  for (let i = 0; i < 512; i++) lines += reader.push(piece).length;
  expect(lines).toBe(0);
  // 32 MiB came; the heap moves by a few of itself.
  expect(held() - before).toBeLessThan((512 * piece.length) / 4);
  expect(reader.push(ascii(`\n${checkedLine("1 time")}`))).toEqual([
    { ok: false, fault: "long" },
    { ok: true, text: "1 time", checked: true },
  ]);
});
