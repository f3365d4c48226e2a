/**
 * Is every message read back from its line, does it fit there, and does no damage make another of it?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import {
  BYTES_MOST_FROM_DEVICE,
  BYTES_MOST_TO_DEVICE,
  checkedLine,
  newLineReader,
} from "../../harness/link/line.js";
import {
  type DeviceLine,
  formatDeviceLine,
  formatRequest,
  NUMBER_MOST,
  parseDeviceLine,
  parseRequest,
} from "../../harness/link/message.js";
import { crc16 } from "../../lib/pacing/crc16.js";
import { anyDeviceLine, anyNumberedRequest, DEVICE_TEXTS, REQUEST_TEXTS } from "./messages.js";
import { runs } from "../support/runs.js";

const RUNS = runs(2_000);
const LF = 0x0a;

const bytesOf = (text: string): Buffer => Buffer.from(checkedLine(text), "latin1");

/** Words as they may come from anywhere. */
const anyWords = fc.oneof(
  fc.string({ unit: "binary", maxLength: 200 }),
  fc.string({ unit: "grapheme-ascii", maxLength: 200 }),
);

test("every request is read back from its line, which is at most 64 bytes long", () => {
  fc.assert(
    fc.property(anyNumberedRequest, (asked) => {
      const text = formatRequest(asked);
      expect(checkedLine(text).length).toBeLessThanOrEqual(BYTES_MOST_TO_DEVICE);
      expect(parseRequest(text, asked.number !== undefined)).toEqual(asked);
    }),
    { numRuns: RUNS },
  );
});

test("everything that a device says is read back from its line, which is at most 128 bytes long", () => {
  fc.assert(
    fc.property(anyDeviceLine, (said) => {
      const text = formatDeviceLine(said);
      expect(checkedLine(text).length).toBeLessThanOrEqual(BYTES_MOST_FROM_DEVICE);
      expect(parseDeviceLine(text)).toEqual(said);
    }),
    { numRuns: RUNS },
  );
});

test("whatever words a device is given to say, they fit its line and are read back as they stand there", () => {
  const line: fc.Arbitrary<DeviceLine> = anyWords.chain((words) =>
    fc.constantFrom<DeviceLine>(
      { kind: "boot", name: words },
      { kind: "no", number: 65_535, reason: "settings", words },
      { kind: "is", report: 65_535, what: "name", words },
      { kind: "report", report: 65_535, ticks: 4_294_967_295, event: { kind: "fault", message: words } },
    ),
  );
  fc.assert(
    fc.property(line, (said) => {
      const text = formatDeviceLine(said);
      expect(checkedLine(text).length).toBeLessThanOrEqual(BYTES_MOST_FROM_DEVICE);
      const read = parseDeviceLine(text);
      expect(read).toMatchObject({ kind: said.kind });
      expect(formatDeviceLine(read as DeviceLine)).toBe(text);
    }),
    { numRuns: RUNS },
  );
});

test("any text is read or refused, and what is read of it would be written the same", () => {
  const words = fc.constantFrom(
    ...REQUEST_TEXTS.concat(DEVICE_TEXTS).flatMap((text) => text.split(" ")),
    "",
    "007",
    "-1",
    "4294967296",
    "65536",
    "contacts=01",
  );
  const text = fc.oneof(
    anyWords,
    fc.array(words, { maxLength: 7 }).map((several) => several.join(" ")),
  );
  fc.assert(
    fc.property(text, fc.boolean(), (each, checked) => {
      const request = parseRequest(each, checked);
      if ("request" in request) expect(formatRequest(request)).toBe(each);
      const said = parseDeviceLine(each);
      if ("kind" in said && !/[^\x20-\x7e]|\*| {2}| $/.test(each) && each.length < 120) {
        expect(formatDeviceLine(said)).toBe(each);
      }
    }),
    { numRuns: 5 * RUNS },
  );
});

test.each([
  ["0 time", { fault: "order", number: 0 }],
  ["7 hello 1", { fault: "word", number: 7 }],
  ["0 hello 0", { fault: "value", number: 0 }],
  ["0 hello 65536", { fault: "value", number: 0 }],
  ["hello 7", { fault: "word", number: undefined }],
  ["65536 time", { fault: "word", number: undefined }],
  ["01 time", { fault: "word", number: undefined }],
  ["1", { fault: "word", number: 1 }],
  ["1 ", { fault: "word", number: 1 }],
  ["1 time ", { fault: "word", number: 1 }],
  ["1  time", { fault: "word", number: 1 }],
  ["1 set strokes", { fault: "word", number: 1 }],
  ["1 go", { fault: "word", number: 1 }],
  ["1 go 4294967296", { fault: "value", number: 1 }],
  ["1 go 05", { fault: "value", number: 1 }],
  ["1 at 5", { fault: "word", number: 1 }],
  ["1 at x contact", { fault: "value", number: 1 }],
  ["1 at 5 contact twice", { fault: "word", number: 1 }],
  ["1 do inhibit-on rain", { fault: "word", number: 1 }],
  ["1 begin", { fault: "word", number: 1 }],
  ["1 begin slowly", { fault: "value", number: 1 }],
  ["1 again 0", { fault: "value", number: 1 }],
])("of %j is told what is wrong and whose number it has", (text, expected) => {
  expect(parseRequest(text, true)).toEqual(expected);
});

interface Direction {
  readonly name: string;
  readonly texts: readonly string[];
  readonly bytesMost: number;
  readonly isMessage: (text: string) => boolean;
  readonly around: readonly [before: string, after: string];
}

const DIRECTIONS: readonly Direction[] = [
  {
    name: "to the device",
    texts: REQUEST_TEXTS,
    bytesMost: BYTES_MOST_TO_DEVICE,
    isMessage: (text) => "request" in parseRequest(text, true),
    around: ["7 time", "9 time"],
  },
  {
    name: "from the device",
    texts: DEVICE_TEXTS,
    bytesMost: BYTES_MOST_FROM_DEVICE,
    isMessage: (text) => !("fault" in parseDeviceLine(text)),
    around: ["ok 7 1", "ok 9 1"],
  },
];

/** The messages among the lines that come of some bytes where every line must have its check. */
function messagesIn(bytes: Uint8Array, { bytesMost, isMessage }: Direction): string[] {
  const lines = newLineReader(bytesMost).push(bytes);
  return lines.flatMap((line) => (line.ok && line.checked && isMessage(line.text) ? [line.text] : []));
}

test.each(DIRECTIONS)(
  "whatever a single byte becomes on its way $name, no other message comes of it",
  (direction) => {
    const [before, after] = direction.around;
    const start = bytesOf(before).length;
    const wrong: string[] = [];
    let errors = 0;
    let splits = 0;
    for (const text of direction.texts) {
      expect(direction.isMessage(text), text).toBe(true);
      const sent = Buffer.concat([before, text, after].map(bytesOf));
      const end = start + bytesOf(text).length;
      for (let at = start; at < end; at++) {
        const was = sent[at] as number;
        for (let byte = 0; byte < 256; byte++) {
          if (byte === was) continue;
          sent[at] = byte;
          const heard = messagesIn(sent, direction);
          // With its LF a line loses what would tell it from the next, which is then lost too.
          const due = at === end - 1 ? [before] : [before, after];
          if (heard.join("\n") !== due.join("\n"))
            wrong.push(`${text}: byte ${at - start} as ${byte}: ${heard.join(", ")}`);
          errors += 1;
          if (byte === LF) splits += 1;
        }
        sent[at] = was;
      }
    }
    process.stdout.write(`${direction.name}: ${errors} byte errors, of them ${splits} that split a line\n`);
    expect(wrong).toEqual([]);
  },
);

test("a number cut by a byte that became LF has a right check only as 5655x cut to x, far from what is expected", () => {
  // Only within the number in front (and in words that are free) can a cut leave a number and a verb or kind. The check
  // of what is left is that of the whole only if the bytes cut off bring the register back to its first value.
  const cuts = Array.from({ length: NUMBER_MOST }, (_, i) => `${i + 1}`).filter(
    (cut) => crc16(Buffer.from(cut), cut.length) === crc16([], 0),
  );
  expect(cuts).toEqual(["5655"]);
  const sent = bytesOf("56551 time");
  sent[3] = LF;
  expect(newLineReader(BYTES_MOST_TO_DEVICE).push(sent)).toEqual([
    { ok: true, text: "565", checked: false },
    { ok: true, text: "1 time", checked: true },
  ]);
});
