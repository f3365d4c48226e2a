/**
 * How much water passes the mock meter, and when? An invented day of five minutes. Harness layer.
 *
 * Pure. The register is a function of the time alone, so that it counts on while nobody looks, and is the same for
 * whoever does. Nothing here was measured.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { countedOn } from "./register.js";

/** How long a part of the day lasts, in s, and the contacts per minute meanwhile. */
const PARTS: readonly (readonly [seconds: number, contactsPerMinute: number])[] = [
  [30, 6], // night: a leak, and somebody who drinks
  [20, 18], // first taps
  [50, 45], // morning
  [40, 20],
  [40, 36], // noon
  [10, 0], // nobody draws
  [30, 24],
  [50, 42], // evening
  [30, 12],
];
const MICROS_PER_SECOND = 1_000_000;
const MICROS_PER_MINUTE = 60_000_000;

/** One day, when it runs at its own pace. */
export const MOCK_DAY_MICROS: Micros = PARTS.reduce((sum, [seconds]) => sum + seconds, 0) * MICROS_PER_SECOND;

/** When contacts close, from midnight on, in order. */
const CONTACTS: readonly Micros[] = contactsOfDay();

/** The meter at a pace: how many times as fast as the day of five minutes. */
export interface MockDay {
  /** What the register reads at a time since some midnight, modulo 2^32. */
  registerAt(micros: Micros): number;
  /** When it next changes, later than that time. */
  nextAfter(micros: Micros): Micros;
}

export function mockDay(pace: number): MockDay {
  const dayMicros = Math.round(MOCK_DAY_MICROS / pace);
  const contacts = CONTACTS.map((micros) => Math.floor(micros / pace));
  const firstLater = (micros: Micros): number => contacts.findIndex((at) => at > micros % dayMicros);
  return {
    registerAt(micros) {
      const days = Math.floor(micros / dayMicros);
      const later = firstLater(micros);
      return countedOn(days * contacts.length, later < 0 ? contacts.length : later);
    },
    nextAfter(micros) {
      const midnight = micros - (micros % dayMicros);
      const next = contacts[firstLater(micros)];
      return next === undefined ? midnight + dayMicros + (contacts[0] ?? 0) : midnight + next;
    },
  };
}

function contactsOfDay(): Micros[] {
  const found: Micros[] = [];
  let startMicros = 0;
  // In parts of a contact, so that each part of the day begins with what the one before left over.
  let passed = 0;
  for (const [seconds, perMinute] of PARTS) {
    const endMicros = startMicros + seconds * MICROS_PER_SECOND;
    for (let left = MICROS_PER_MINUTE - passed; ; left += MICROS_PER_MINUTE) {
      const atMicros = startMicros + Math.ceil(left / perMinute);
      if (atMicros > endMicros) break;
      found.push(atMicros);
    }
    passed = (passed + seconds * MICROS_PER_SECOND * perMinute) % MICROS_PER_MINUTE;
    startMicros = endMicros;
  }
  return found;
}
