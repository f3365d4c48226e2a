/**
 * What exactly becomes of a stimulus when it is varied?
 */
import { describe, expect, test } from "vitest";
import { type Give, shifted, withBounce, withExtraWakes, withPowerCuts } from "../../lib/laws/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { settings } from "./kit.js";

function event(kind: "contact" | "wake" | "hold-on" | "close" | "open", atMicros: number): StimulusEvent {
  return { kind, atMicros };
}

/** What a variation gives for these events. */
function varied(vary: (give: Give) => Give, ...events: StimulusEvent[]): StimulusEvent[] {
  const given: StimulusEvent[] = [];
  const put = vary((one) => given.push(one));
  for (const one of events) put(one);
  return given;
}

const inWords = (events: readonly StimulusEvent[]): string[] =>
  events.map((one) => `${one.kind} ${one.atMicros}`);

test("extra wakes come at both ends of every gap, and a third into it from each", () => {
  const given = varied(withExtraWakes, event("contact", 11), event("hold-on", 11), event("contact", 21));
  expect(inWords(given)).toEqual([
    ...["wake 0", "wake 3", "wake 8", "wake 11", "contact 11"],
    ...["wake 11", "wake 11", "wake 11", "wake 11", "hold-on 11"],
    ...["wake 11", "wake 14", "wake 18", "wake 21", "contact 21"],
  ]);
});

test("a shifted event differs in its time alone", () => {
  const change = { kind: "settings", atMicros: 5, settings: settings(), confirmed: true } as const;
  expect(varied((give) => shifted(give, 100), event("contact", 1), change)).toEqual([
    { kind: "contact", atMicros: 101 },
    { kind: "settings", atMicros: 105, settings: settings(), confirmed: true },
  ]);
});

test("the power goes and comes back after the first of every two events, the controller knowing for how long", () => {
  const given = varied(
    (give) => withPowerCuts(give, 2),
    ...[1, 2, 3, 4].map((atMicros) => event("contact", atMicros)),
  );
  expect(given).toEqual([
    { kind: "contact", atMicros: 1 },
    { kind: "power-off", atMicros: 1 },
    { kind: "power-on", atMicros: 1, darkKnown: true },
    { kind: "contact", atMicros: 2 },
    { kind: "contact", atMicros: 3 },
    { kind: "power-off", atMicros: 3 },
    { kind: "power-on", atMicros: 3, darkKnown: true },
    { kind: "contact", atMicros: 4 },
  ]);
});

describe("bounce", () => {
  const bouncing = (closedMicros: number, openMicros: number, ...events: StimulusEvent[]): string[] =>
    inWords(varied((give) => withBounce(give, settings({ closedMicros, openMicros })), ...events));

  test("lasts one microsecond less than would count, at both ends of the one closure that does", () => {
    expect(bouncing(30, 20, event("contact", 9))).toEqual([
      ...["close 9", "open 38"],
      "close 57",
      ...["open 88", "close 107"],
      "open 136",
    ]);
  });

  test("comes up to three times, as the time of the contact has it", () => {
    expect(bouncing(30, 20, event("contact", 2))).toEqual([
      ...["close 2", "open 31", "close 50", "open 79", "close 98", "open 127"],
      "close 146",
      ...["open 177", "close 196", "open 225", "close 244", "open 273", "close 292"],
      "open 321",
    ]);
  });

  test("moves what follows to make room, and keeps it moved", () => {
    expect(
      bouncing(30, 20, event("contact", 9), event("hold-on", 12), event("contact", 15), event("wake", 400)),
    ).toEqual([
      ...["close 9", "open 38", "close 57", "open 88", "close 107", "open 136"],
      "hold-on 156",
      ...["close 159", "open 188", "close 207", "open 238", "close 257", "open 286"],
      "wake 544",
    ]);
  });

  test("moves nothing that has room: a contact just as the last has ended", () => {
    expect(bouncing(30, 20, event("contact", 9), event("wake", 156), event("wake", 157)).slice(6)).toEqual([
      "wake 156",
      "wake 157",
    ]);
  });

  test.each([
    { closedMicros: 0, openMicros: 20, edges: ["close 9", "open 10", "close 30", "open 31"] },
    { closedMicros: 1, openMicros: 20, edges: ["close 9", "open 11", "close 31", "open 33"] },
    { closedMicros: 30, openMicros: 1, edges: ["close 9", "open 40", "close 41", "open 72"] },
  ])(
    "is none where it could only count: closed $closedMicros, open $openMicros",
    ({ closedMicros, openMicros, edges }) => {
      expect(bouncing(closedMicros, openMicros, event("contact", 9), event("contact", 9))).toEqual(edges);
    },
  );

  test("may last a single microsecond", () => {
    expect(bouncing(2, 2, event("contact", 9))).toEqual([
      ...["close 9", "open 10"],
      "close 11",
      ...["open 14", "close 15"],
      "open 16",
    ]);
  });
});
