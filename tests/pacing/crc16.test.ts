/**
 * Does the checksum look at exactly the bytes it is told to? Its published values are in tests/references.
 */
import { expect, test } from "vitest";
import { crc16 } from "../../lib/pacing/index.js";

test("of nothing it is its initial value", () => {
  expect(crc16([], 0)).toBe(0xffff);
});

test("of the nine digits it is the catalogue's check value", () => {
  expect(crc16(Buffer.from("123456789"), 9)).toBe(0x29b1);
});

test("bytes past the length do not count", () => {
  expect(crc16([1, 2, 3, 4], 3)).toBe(crc16([1, 2, 3], 3));
  expect(crc16([1, 2, 3, 4], 0)).toBe(0xffff);
});

test("it stays within 16 bits for every byte", () => {
  const values = Array.from({ length: 256 }, (_, byte) => crc16([byte, 255 - byte, byte], 3));
  expect(values.every((value) => value >= 0 && value <= 0xffff)).toBe(true);
  expect(new Set(values).size).toBe(256);
});
