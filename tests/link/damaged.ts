/**
 * What is a session that was damaged in every way? Generators of its lines, and a bench that sends them. Test support.
 */
import fc from "fast-check";
import { checkedLine } from "../../harness/link/line.js";
import {
  type DeviceLine,
  formatRequest,
  NUMBER_MOST,
  type NumberedRequest,
} from "../../harness/link/message.js";
import { anyNumberedRequest, EVERY_INPUT } from "./messages.js";

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

/** One line of a session, and how long the bench waits after it. */
export interface Step {
  readonly words: string;
  readonly damage: Damage;
  readonly typed: boolean;
  readonly waitMicros: number;
}

export const anyStep: fc.Arbitrary<Step> = fc.record({
  words: fc.oneof(
    { weight: 9, arbitrary: usefulWords },
    { weight: 1, arbitrary: anyNumberedRequest.map(({ request }) => requestText(request)) },
  ),
  damage: anyDamage,
  typed: fc.nat({ max: 9 }).map((one) => one === 0),
  waitMicros: fc.oneof({ weight: 60, arbitrary: fc.nat({ max: 9_000 }) }, fc.constant(10_000_000)),
});

/** A line that comes as it was sent. */
export const SOUND = { damage: { kind: "none" }, typed: false, waitMicros: 0 } as const;
/** Settings to begin a run with. */
export const SETUP = ["set strokes 3", "set contacts 2", "set leastSpacingMicros 5000", "set cadence prompt"];

/** A bench that numbers its lines as the device expects and states its times from where the device is. */
export class Sender {
  /** `range` is what the device's counter can tell apart. */
  constructor(private readonly range = 2 * HALF) {}

  private number = 0;
  private ticks = 0;
  private readonly sent: Buffer[] = [];

  /** What goes over the line for a step. */
  bytesOf({ words, typed, damage }: Step): Uint8Array {
    const said = words.replace(
      /^(at|go) \+(\d+)$/,
      (_, verb: string, add: string) =>
        `${verb} ${(this.ticks + Number(add)) % this.range}${verb === "at" ? " contact" : ""}`,
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
