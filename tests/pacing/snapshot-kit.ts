/**
 * What is in a snapshot? Its layout, read and written apart from the code under test.
 */
import { crc16, SNAPSHOT_BYTES } from "../../lib/pacing/index.js";

/** The fields in their order, 8 bytes each, most significant first, from byte 4 on. */
export const FIELDS = [
  "remainder",
  "owed",
  "held",
  "inhibits",
  "tripped",
  "lineClosed",
  "lineArmed",
  "alarms",
  "counted",
  "ignored",
  "rejected",
  "bounces",
  "earned",
  "paced",
  "primed",
  "shedLimit",
  "shedStill",
  "shedHold",
  "shedInhibit",
  "shedTrip",
  "shedPower",
  "refused",
  "contacts",
  "ageMicros",
  "intervalMicros",
  "guardMicros",
  "guardRest",
] as const;
export type Field = (typeof FIELDS)[number];
export type Fields = Record<Field, number>;

export function readFields(bytes: Uint8Array): Fields {
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  const entries = FIELDS.map((name, i) => [name, Number(view.getBigUint64(4 + 8 * i))]);
  return Object.fromEntries(entries) as Fields;
}

/** The same snapshot with other values in some fields, and a checksum that fits. */
export function withFields(bytes: Uint8Array, over: Partial<Fields>): Uint8Array {
  const copy = Uint8Array.from(bytes);
  const view = new DataView(copy.buffer);
  FIELDS.forEach((name, i) => {
    const value = over[name];
    if (value !== undefined) view.setBigUint64(4 + 8 * i, BigInt(value));
  });
  view.setUint16(SNAPSHOT_BYTES - 2, crc16(copy, SNAPSHOT_BYTES - 2));
  return copy;
}
