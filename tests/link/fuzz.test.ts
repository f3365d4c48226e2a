/**
 * Does the device's end survive sessions that were damaged in every way, and say only what the page allows?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { checkedLine } from "../../harness/link/line.js";
import {
  type DeviceLine,
  formatRequest,
  NUMBER_MOST,
  type NumberedRequest,
} from "../../harness/link/message.js";
import { Bench, VirtualClock } from "./bench.js";
import { anyNumberedRequest, EVERY_INPUT } from "./messages.js";
import { runs } from "../support/runs.js";

const RUNS = runs(1_500);
/** A session in which a free clock idles takes its time. */
const TIMEOUT_MILLIS = 120_000 + RUNS * 100;
/** Half of a counter of 16 bits, in ticks; and so in µs. */
const HALF = 32_768;

/** What happens to one line of a session on its way. */
type Damage =
  | { readonly kind: "none" | "drop" | "double" | "merge" }
  | { readonly kind: "swap"; readonly back: number }
  | { readonly kind: "cut" | "garbage"; readonly at: number; readonly bytes: Uint8Array }
  | { readonly kind: "corrupt"; readonly at: number; readonly byte: number };

const anyDamage: fc.Arbitrary<Damage> = fc.oneof(
  { weight: 12, arbitrary: fc.constant<Damage>({ kind: "none" }) },
  { weight: 3, arbitrary: fc.constantFrom<Damage>({ kind: "drop" }, { kind: "double" }, { kind: "merge" }) },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant("swap" as const), back: fc.integer({ min: 1, max: 40 }) }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constantFrom("cut" as const, "garbage" as const),
      at: fc.nat({ max: 70 }),
      bytes: fc.uint8Array({ maxLength: 90 }),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.record({
      kind: fc.constant("corrupt" as const),
      at: fc.nat({ max: 63 }),
      byte: fc.nat({ max: 255 }),
    }),
  },
);

/** Requests that get on with a run, rather than any. */
const usefulWords: fc.Arbitrary<string> = fc.oneof(
  { weight: 5, arbitrary: fc.oneof(fc.constant(500), fc.nat({ max: HALF })).map((ticks) => `at +${ticks}`) },
  { weight: 3, arbitrary: fc.nat({ max: HALF }).map((ticks) => `go +${ticks}`) },
  {
    weight: 3,
    arbitrary: fc.constantFrom(...EVERY_INPUT).map((input) => requestText({ verb: "do", input })),
  },
  fc.constantFrom("tell", "time", "end", "begin stepped", "begin free", "again 1", "lag 300", "bye"),
  fc.constantFrom("set strokes 7", "set strokes 1", "set primeSpacingMicros 10", "set graceMicros 90000"),
);

function requestText(request: NumberedRequest["request"]): string {
  return formatRequest({ number: undefined, request });
}

interface Step {
  readonly words: string;
  readonly damage: Damage;
  readonly typed: boolean;
  readonly waitMicros: number;
}

const anyStep: fc.Arbitrary<Step> = fc.record({
  words: fc.oneof(
    { weight: 9, arbitrary: usefulWords },
    { weight: 1, arbitrary: anyNumberedRequest.map(({ request }) => requestText(request)) },
  ),
  damage: anyDamage,
  typed: fc.nat({ max: 9 }).map((one) => one === 0),
  waitMicros: fc.oneof({ weight: 60, arbitrary: fc.nat({ max: 9_000 }) }, fc.constant(10_000_000)),
});

const PROFILES: readonly DeviceProfile[] = [
  { ...MOCK_PROFILE, width: 16, queue: 4, window: 2, keep: 0, clock: ["stepped"] },
  { ...MOCK_PROFILE, width: 16, clock: ["stepped", "free", "settable", "lag"] },
  {
    ...MOCK_PROFILE,
    width: 24,
    ticksPerSecond: 32_768,
    keep: 3,
    window: 1,
    queue: 1,
    clock: ["free", "lag"],
  },
];

const SOUND = { damage: { kind: "none" }, typed: false, waitMicros: 0 } as const;
const SETUP = ["set strokes 3", "set contacts 2", "set leastSpacingMicros 5000", "set cadence prompt"];

/** A bench that numbers its lines as the device expects and states its times from where the device is. */
class Sender {
  private number = 0;
  private ticks = 0;
  private readonly sent: Buffer[] = [];

  /** What goes over the line for a step. */
  bytesOf({ words, typed, damage }: Step): Uint8Array {
    const said = words.replace(
      /^(at|go) \+(\d+)$/,
      (_, verb: string, add: string) =>
        `${verb} ${(this.ticks + Number(add)) % (2 * HALF)}${verb === "at" ? " contact" : ""}`,
    );
    const number = said.startsWith("hello") ? 0 : (this.number % NUMBER_MOST) + 1;
    const line = Buffer.from(typed ? `${said}\r\n` : checkedLine(`${number} ${said}`), "latin1");
    this.sent.push(line);
    return damaged(line, damage, this.sent);
  }

  /** Takes from the answers what the next line must be. */
  heed(lines: readonly DeviceLine[]): void {
    for (const line of lines) {
      if (line.kind === "report") this.ticks = line.ticks;
      if ((line.kind === "ok" || line.kind === "no") && line.number !== undefined) this.number = line.number;
      if (line.kind === "ok" && line.value !== undefined && line.number !== 0) this.ticks = line.value;
    }
  }
}

function damaged(line: Buffer, damage: Damage, sent: readonly Buffer[]): Uint8Array {
  switch (damage.kind) {
    case "none":
      return line;
    case "drop":
      return Buffer.alloc(0);
    case "double":
      return Buffer.concat([line, line]);
    case "merge":
      return line.subarray(0, -1);
    case "swap":
      return Buffer.concat([line, sent.at(-1 - damage.back) ?? line]);
    case "cut":
      return line.subarray(0, damage.at);
    case "garbage":
      return Buffer.concat([line.subarray(0, damage.at), damage.bytes, line.subarray(damage.at)]);
    case "corrupt": {
      const copy = Buffer.from(line);
      copy[damage.at % copy.length] = damage.byte;
      return copy;
    }
  }
}

/** Plays a session; the bench throws for any line of the device that the page does not allow. */
function play(profile: DeviceProfile, steps: readonly Step[]): string {
  const clock = new VirtualClock(3);
  const bench = new Bench({ profile, clock });
  const sender = new Sender();
  bench.lines("0 hello 1");
  const begin = profile.clock.includes("stepped") ? "begin stepped" : "begin free";
  const sound = [...SETUP, begin].map((words): Step => ({ ...SOUND, words }));
  for (const step of [...sound, ...steps]) {
    sender.heed(bench.raw(sender.bytesOf(step)));
    clock.goTo(clock.nowMicros() + step.waitMicros);
    sender.heed(bench.heard());
  }
  bench.raw("\n");
  // On a free clock what was due until then is told first.
  const answer = bench.lines("0 hello 4242");
  const greeting = answer.slice(answer.findIndex(({ kind }) => kind !== "report"));
  expect(greeting[0]).toMatchObject({ kind: "is", report: 1, what: "link", words: "1" });
  expect(greeting.at(-1)).toEqual({ kind: "ok", number: 0, lastReport: greeting.length - 1, value: 4_242 });
  expect(clock.waiting).toBe(0);
  const idle = bench.text.length;
  clock.goTo(clock.nowMicros() + 1_000_000);
  expect(bench.text).toHaveLength(idle);
  bench.close();
  return bench.text;
}

test(
  "however a session is damaged, the device says only whole lines of the page, and greets when asked",
  { timeout: TIMEOUT_MILLIS },
  () => {
    let sessions = 0;
    let lines = 0;
    const kinds = new Set<string>();
    fc.assert(
      fc.property(
        fc.constantFrom(...PROFILES),
        fc.array(anyStep, { minLength: 5, maxLength: 60, size: "max" }),
        (profile, steps) => {
          const text = play(profile, steps);
          sessions += 1;
          lines += steps.length;
          for (const [, first, second] of text.matchAll(/^(\S+) (\S+)(?: \S+)*$/gm)) {
            if (/^\d/.test(first ?? "")) kinds.add(second?.replace(/\*.*/, "") ?? "");
          }
          for (const [, reason] of text.matchAll(/^no \S+ ([a-z]+)/gm)) kinds.add(`no ${reason ?? ""}`);
        },
      ),
      { numRuns: RUNS },
    );
    process.stdout.write(
      `fuzz: ${sessions} damaged sessions of ${lines} lines; ${[...kinds].sort().join(", ")}\n`,
    );
    // A fuzz that does not get that deep proves little.
    const deep = [
      "did",
      "paced",
      "primed",
      "shed",
      "alarm-on",
      "fault",
      "status",
      "no full",
      "no late",
      "no order",
    ];
    expect(deep.filter((kind) => !kinds.has(kind))).toEqual([]);
  },
);

test("the same damaged session twice gives the same bytes", () => {
  fc.assert(
    fc.property(fc.constantFrom(...PROFILES), fc.array(anyStep, { maxLength: 40 }), (profile, steps) => {
      expect(play(profile, steps)).toBe(play(profile, steps));
    }),
    { numRuns: Math.ceil(RUNS / 10) },
  );
});

test("any bytes at all leave a device that greets", () => {
  fc.assert(
    fc.property(fc.array(fc.uint8Array({ maxLength: 200 }), { maxLength: 20 }), (pieces) => {
      const bench = new Bench({ clock: new VirtualClock() });
      for (const piece of pieces) bench.raw(piece);
      bench.raw("\n");
      expect(bench.lines("0 hello 7").at(-1)).toMatchObject({ kind: "ok", number: 0, value: 7 });
    }),
    { numRuns: RUNS },
  );
});
