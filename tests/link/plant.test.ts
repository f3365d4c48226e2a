/**
 * Which greetings are a meter's or a pump's, and what becomes of a device of another role?
 */
import { expect, test } from "vitest";
import { endOf, VirtualClock, wire } from "./virtual-bench.js";
import { connect } from "../../harness/link/client.js";
import type { GreetingLine } from "../../harness/link/greeting.js";
import { LinkFault } from "../../harness/link/link-fault.js";
import { formatRequest } from "../../harness/link/message.js";
import { connectPlant, readPlantGreeting } from "../../harness/link/plant.js";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { PlantEnd } from "../bench-devices/plant-end.mjs";

const SECOND = 1_000_000;
const SOUND: readonly GreetingLine[] = [
  { what: "link", words: "1" },
  { what: "name", words: "well house" },
  { what: "role", words: "plant" },
  { what: "ticks", words: "1000 16" },
  { what: "has", words: "meter pump" },
];

const withLine = (what: string, words?: string): GreetingLine[] =>
  SOUND.flatMap((line) => (line.what !== what ? [line] : words === undefined ? [] : [{ what, words }]));

test("a whole greeting is read, with more than there is to say passed over", () => {
  expect(readPlantGreeting([...SOUND, { what: "colour", words: "grey" }])).toEqual({
    name: "well house",
    hasMeter: true,
    hasPump: true,
    window: 1,
    keep: 0,
    isPlant: true,
  });
  expect(readPlantGreeting(withLine("has", "pump valve"))).toMatchObject({ hasMeter: false, hasPump: true });
  expect(readPlantGreeting(withLine("name")).name).toBe("a device without a name");
});

test.each([
  ["link", undefined],
  ["link", "2"],
  ["role", undefined],
  ["role", "controller"],
  ["has", undefined],
  ["has", "valve"],
  ["ticks", undefined],
  ["ticks", "999 16"],
  ["ticks", "1000001 16"],
  ["ticks", "1000 17"],
  ["ticks", "1000"],
])("a greeting that says for %s: %s is nonsense, named", (what, words) => {
  const read = (): unknown => readPlantGreeting(withLine(what, words));
  expect(read).toThrow(LinkFault);
  expect(read).toThrow(`for "is ${what}"`);
});

test("a controller is no meter or pump, and a meter or pump no controller: each is refused by its role", async () => {
  const clock = new VirtualClock();
  const controller = wire(clock, endOf(runModel, MOCK_PROFILE));
  const ears = { register: () => undefined, lost: () => undefined };
  await expect(
    clock.run(connectPlant(controller.transport, ears, { clock }), 10 * SECOND),
  ).rejects.toMatchObject({
    fault: {
      kind: "nonsense",
      message: 'the greeting says "controller" for "is role"',
      mend: expect.stringMatching(/tallystroke verify/) as string,
    },
  });
  const plant = wire(clock, (send) => {
    const end = new PlantEnd({
      name: "pump",
      has: ["pump"],
      register: 0,
      last: 0,
      send: (text) => {
        send(Buffer.from(text, "latin1"));
      },
      now: () => clock.nowMicros(),
      made: () => undefined,
      kept: () => undefined,
      isBusy: () => false,
      hangUp: () => undefined,
    });
    return {
      take: (bytes) => {
        end.take(Buffer.from(bytes).toString("latin1"));
      },
      close: () => undefined,
    };
  });
  await expect(clock.run(connect(plant.transport, { clock }), 10 * SECOND)).rejects.toMatchObject({
    fault: {
      kind: "nonsense",
      message: 'the greeting says "plant" for "is role"',
      mend: "give a meter or a pump to `tallystroke drive`",
    },
  });
});

test("a device that starts anew as its port is opened is greeted again, and one that stays silent is given 5 s", async () => {
  const clock = new VirtualClock();
  const asked: number[] = [];
  const silent = wire(clock, () => ({
    take: () => void asked.push(clock.nowMicros()),
    close: () => undefined,
  }));
  const ears = { register: () => undefined, lost: () => undefined };
  await expect(clock.run(connectPlant(silent.transport, ears, { clock }), 10 * SECOND)).rejects.toMatchObject(
    {
      fault: { kind: "silent" },
    },
  );
  expect(asked).toEqual([0, 1, 2, 3, 4].map((seconds) => seconds * SECOND));
  expect(clock.nowMicros()).toBe(5 * SECOND);
});

test.each([
  [{ verb: "register" } as const, "7 register"],
  [{ verb: "last" } as const, "7 last"],
  [{ verb: "stroke", stroke: 4_294_967_295 } as const, "7 stroke 4294967295"],
])("what the plant is asked stands on a line as LINK.md says: %j", (request, text) => {
  expect(formatRequest({ number: 7, request })).toBe(text);
});
