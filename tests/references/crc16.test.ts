/**
 * Is the snapshot's checksum the catalogued CRC-16/IBM-3740?
 *
 * Sources: G. Cook, Catalogue of parametrised CRC algorithms, 16 bits (reveng, 2022), check value (id
 * `crc16-ibm-3740`, confirmed). AUTOSAR, Specification of CRC Library, 2021, table of CRC16 results: the row of four
 * zero bytes is confirmed through a public test file (id `crc16-autosar-00000000`); the others are from memory, not
 * confirmed, and agree with two independent ways of computing below.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { crc16 } from "../../lib/pacing/index.js";

const VECTORS = [
  { source: "catalogue, check value", hex: "313233343536373839", crc: 0x29b1 },
  { source: "AUTOSAR, confirmed", hex: "00000000", crc: 0x84c0 },
  { source: "AUTOSAR, from memory", hex: "f20183", crc: 0xd374 },
  { source: "AUTOSAR, from memory", hex: "0faa0055", crc: 0x2023 },
  { source: "AUTOSAR, from memory", hex: "00ff5511", crc: 0xb8f9 },
  { source: "AUTOSAR, from memory", hex: "332255aabbccddeeff", crc: 0xf53f },
  { source: "AUTOSAR, from memory", hex: "926b55", crc: 0x0745 },
  { source: "AUTOSAR, from memory", hex: "ffffffff", crc: 0x1d0f },
] as const;

test.each(VECTORS)("CRC of $hex ($source)", ({ hex, crc }) => {
  const bytes = Buffer.from(hex, "hex");
  expect(crc16(bytes, bytes.length)).toBe(crc);
});

/** The definition itself: the rest of the message, 16 ones put before it, divided by x¹⁶ + x¹² + x⁵ + 1. */
function byDivision(bytes: Uint8Array): number {
  let dividend = 0n;
  for (const byte of bytes) dividend = (dividend << 8n) | BigInt(byte);
  const bits = BigInt(bytes.length * 8);
  dividend = (dividend << 16n) ^ (0xffffn << bits);
  for (let bit = bits + 15n; bit >= 16n; bit--) {
    if ((dividend >> bit) & 1n) dividend ^= 0x11021n << (bit - 16n);
  }
  return Number(dividend);
}

test("of any message it is the rest of the division that defines it", () => {
  fc.assert(
    fc.property(fc.uint8Array({ minLength: 2, maxLength: 40 }), (bytes) => {
      expect(crc16(bytes, bytes.length)).toBe(byDivision(bytes));
    }),
  );
});

test("a message followed by its own CRC divides without rest", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 40 }), (bytes) => {
      const crc = crc16(bytes, bytes.length);
      expect(crc16([...bytes, crc >> 8, crc & 0xff], bytes.length + 2)).toBe(0);
    }),
  );
});
