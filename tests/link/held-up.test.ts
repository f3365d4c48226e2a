/**
 * A bench that was held up for longer than an answer may take hears the answer that has arrived meanwhile.
 */
import { expect, test } from "vitest";
import { realClock } from "../../harness/link/bench-clock.js";
import { readPlantGreeting } from "../../harness/link/plant.js";
import { Session } from "../../harness/link/session.js";
import type { Transport } from "../../harness/link/transport.js";
import { PlantEnd } from "../bench-devices/plant-end.mjs";

const LIMITS = {
  patienceMicros: 400_000,
  repeatsMost: 4,
  greetingPatienceMicros: 1_000_000,
  requestMicros: 500_000,
  linesMost: 10_000,
};

/** What is sent arrives only after timers that are due have acted, as with a port. */
function plantTransport(): Transport {
  let hear: (bytes: Uint8Array) => void = () => undefined;
  const later = (act: () => void): void => void setImmediate(act);
  const end = new PlantEnd({
    name: "well house",
    has: ["meter"],
    register: 7,
    last: 0,
    send: (text) => {
      later(() => {
        hear(Buffer.from(text, "latin1"));
      });
    },
    now: () => realClock.nowMicros(),
    made: () => undefined,
    kept: () => undefined,
    isBusy: () => false,
    hangUp: () => undefined,
  });
  return {
    name: "plant",
    send: (bytes) => {
      const text = Buffer.from(bytes).toString("latin1");
      later(() => {
        end.take(text);
      });
      return Promise.resolve();
    },
    onBytes: (take) => {
      hear = take;
    },
    onGone: () => undefined,
    close: () => Promise.resolve(),
  };
}

test("an answer that arrived while the program was held up is no silence", async () => {
  const session = new Session(plantTransport(), realClock, LIMITS, 0);
  await session.greet(readPlantGreeting);
  const asked = session.ask({ verb: "register" });
  for (let i = 0; i < 100; i++) await Promise.resolve(); // It is on its way.
  // Held up: no time would pass in a wait that lets others act.
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1_200);
  expect(await asked).toBe(7);
  await session.close();
});
