/**
 * What is in an Intel HEX file? The bytes of a program, for the emulator. Harness layer.
 *
 * Source of the format: Intel, "Hexadecimal Object File Format Specification", revision A, 1988: records 00 (data), 01 (end),
 * 02 and 04 (base), 03 and 05 (start address, which a part that starts at 0 needs not).
 */
import { InputError } from "../../files/fault.js";

const DATA = 0;
const END = 1;
const SEGMENT_BASE = 2;
const LINEAR_BASE = 4;

/** Reads `text` into a memory of `size` bytes that are 0xFF where nothing is given. Throws an InputError. */
export function readHex(text: string, size: number, file?: string): Uint8Array {
  const memory = new Uint8Array(size).fill(0xff);
  const refuse = (line: number, fault: string): never => {
    throw new InputError([{ file, line, fault, mend: "build the image anew with `npm run firmware`" }]);
  };
  let base = 0;
  for (const [index, row] of text.split(/\r?\n/).entries()) {
    const line = index + 1;
    if (row === "") continue;
    const bytes = /^:(?:[0-9a-f]{2}){5,}$/i.test(row)
      ? Buffer.from(row.slice(1), "hex")
      : refuse(line, "is no record");
    const [length = 0, high = 0, low = 0, kind = 0] = bytes;
    if (bytes.length !== length + 5) refuse(line, "is cut off");
    if (bytes.reduce((sum, byte) => (sum + byte) & 0xff, 0) !== 0) refuse(line, "has a wrong checksum");
    const data = bytes.subarray(4, -1);
    if (kind === END) return memory;
    if (kind === SEGMENT_BASE) base = data.readUInt16BE(0) << 4;
    if (kind === LINEAR_BASE) base = data.readUInt16BE(0) * 0x1_0000;
    if (kind !== DATA) continue;
    const address = base + high * 256 + low;
    if (address + data.length > size) refuse(line, `is past the ${size} bytes of the program memory`);
    memory.set(data, address);
  }
  return refuse(text.split("\n").length, "has no end record");
}
