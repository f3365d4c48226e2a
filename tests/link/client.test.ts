/**
 * Does the client take only a greeting that is whole, give up on settings that are refused, and never ask for more at
 * once than the device said that it can hold?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { DeviceAbout, StartRun } from "../../harness/device.js";
import { MOCK_PROFILE, openMockTransport } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { connect, type ConnectOptions, DeviceError } from "../../harness/link/client.js";
import { checkedLine, TEXT_MOST_FROM_DEVICE } from "../../harness/link/line.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";
import { endOf, type FarEnd, VirtualClock, wire } from "./virtual-bench.js";
import { runs } from "../support/runs.js";

const RUNS = runs(40);
const MINUTE = 60_000_000;
const SETTINGS = sound({ strokes: 3, contacts: 2, leastSpacingMicros: 250_000 });

const LEAST = [
  "link 1",
  "name least device",
  "role controller",
  "ticks 1000 16",
  "queue 1",
  "window 1",
  "keep 0",
  "clock free",
  "takes contact reset",
  "tells paced",
  "laws 1 3",
  "settings none",
];

/** A far end that only greets, with these lines; to everything else it answers `answer`, if anything. */
function greeter(lines: readonly string[], answer?: string): FarEnd {
  return (send) => ({
    take(bytes) {
      const [number, verb, nonce] = Buffer.from(bytes).toString("latin1").slice(0, -6).split(" ");
      const say = (text: string): void => {
        send(Buffer.from(text.length > TEXT_MOST_FROM_DEVICE ? `${text}*0000\n` : checkedLine(text)));
      };
      if (verb === "hello") {
        lines.forEach((line, i) => {
          say(`${i + 1} is ${line}`);
        });
        say(`ok 0 ${lines.length} ${nonce}`);
      } else if (answer !== undefined) say(answer.replace("N", number ?? ""));
    },
    close: () => undefined,
  });
}

async function greeted(far: FarEnd, options: ConnectOptions = {}): Promise<DeviceAbout | string> {
  const clock = new VirtualClock();
  const work = connect(wire(clock, far).transport, { clock, ...options }).then(
    ({ about }) => about,
    (error: unknown) => {
      if (error instanceof DeviceError) return `${error.fault.kind}: ${error.fault.message}`;
      throw error;
    },
  );
  return clock.run(work, 10 * MINUTE);
}

const without = (what: string): string[] => LEAST.filter((line) => !line.startsWith(`${what} `));
const withLine = (what: string, words: string): string[] =>
  LEAST.map((line) => (line.startsWith(`${what} `) ? `${what} ${words}` : line));

test("the least device is taken for what it says", async () => {
  expect(await greeted(greeter(LEAST))).toEqual({
    spec: "wire",
    name: "least device",
    role: "controller",
    clock: "real",
    tickMicros: 1_000,
    takes: new Set(["contact", "reset"]),
    tells: new Set(["paced"]),
    laws: new Set([LAW_NAMES[0], LAW_NAMES[2]]),
    settable: new Set(),
    canStartAt: false,
    canLag: false,
  });
});

test("words that a later page may bring are passed over", async () => {
  const lines = [...withLine("takes", "contact reset sing"), "colour blue"];
  expect(await greeted(greeter(lines))).toMatchObject({ takes: new Set(["contact", "reset"]) });
});

test.each<[string, readonly string[], string]>([
  ["of another version", withLine("link", "2"), 'nonsense: the greeting says "2" for "is link"'],
  ["without its version", without("link"), 'nonsense: the greeting says nothing for "is link"'],
  ["without a role", without("role"), 'nonsense: the greeting says nothing for "is role"'],
  ["without ticks", without("ticks"), 'nonsense: the greeting says nothing for "is ticks"'],
  [
    "of a width that cannot be",
    withLine("ticks", "1000 17"),
    'nonsense: the greeting says "1000 17" for "is ticks"',
  ],
  [
    "of a rate that cannot be",
    withLine("ticks", "999 16"),
    'nonsense: the greeting says "999 16" for "is ticks"',
  ],
  ["of no queue", withLine("queue", "0"), 'nonsense: the greeting says "0" for "is queue"'],
  [
    "of a window that cannot be",
    withLine("window", "17"),
    'nonsense: the greeting says "17" for "is window"',
  ],
  ["without a clock", withLine("clock", "settable"), 'nonsense: the greeting says "settable" for "is clock"'],
  [
    "with a line too long",
    withLine("name", "x".repeat(130)),
    "silent: no answer that could be used (a line of more than 128 bytes came): asked 6 times for `hello`",
  ],
])("a greeting %s is refused", async (_, lines, words) => {
  expect(await greeted(greeter(lines))).toBe(words);
});

test("no greeting at all is silence, and takes no longer than the patience", async () => {
  const mute: FarEnd = () => ({ take: () => undefined, close: () => undefined });
  expect(await greeted(mute)).toBe("silent: no answer: asked 6 times for `hello`");
});

test("a device that starts while it is asked is asked again", async () => {
  let asked = 0;
  const far: FarEnd = (send) => {
    const end = greeter(LEAST)(send);
    return {
      ...end,
      take(bytes) {
        asked += 1;
        if (asked === 1) send(Buffer.from(checkedLine("boot least device")));
        else end.take(bytes);
      },
    };
  };
  expect(await greeted(far)).toMatchObject({ name: "least device" });
  expect(asked).toBe(2);
});

test.each([
  ["no N value", "refused", "`1 set strokes 3` was refused: value"],
  ["no N word", "refused", "`1 set strokes 3` was refused: word"],
  ["ok N 0 7", "nonsense", "`begin`"],
])("where settings are answered %j the run is `%s`", async (answer, kind, message) => {
  const clock = new VirtualClock();
  const lines = answer.startsWith("ok") ? LEAST : withLine("settings", "strokes");
  const { transport } = wire(clock, greeter(lines, answer.startsWith("ok") ? "ok N 0" : answer));
  const work = async () => {
    const device = await connect(transport, { clock });
    const end = await device.run({ settings: SETTINGS, stimulus: [], untilMicros: 1, sink: () => undefined });
    await device.close();
    return end;
  };
  const end = await clock.run(work(), 10 * MINUTE);
  expect(end).toMatchObject({
    ok: false,
    fault: { kind, message: expect.stringContaining(message) as string },
  });
});

test("never more is under way than the window holds, nor more accepted than the queue", async () => {
  let reached = { underWay: false, queued: false };
  await fc.assert(
    fc.asyncProperty(
      fc.integer({ min: 1, max: 6 }),
      fc.integer({ min: 1, max: 9 }),
      fc.constantFrom("stepped", "free"),
      fc.array(fc.integer({ min: 100_000, max: 3_000_000 }), { minLength: 1, maxLength: 30 }),
      async (window, queue, clockKind, gaps) => {
        const clock = new VirtualClock();
        const profile = { ...MOCK_PROFILE, window, queue, clock: [clockKind] as ("stepped" | "free")[] };
        const { transport, lines } = wire(clock, endOf(runModel, profile, clock), () => 700);
        let atMicros = 0;
        const stimulus = gaps.map((gap): StimulusEvent => ({ kind: "contact", atMicros: (atMicros += gap) }));
        const trace: TraceEvent[] = [];
        const work = async () => {
          const device = await connect(transport, { clock });
          const end = await device.run({
            settings: SETTINGS,
            stimulus,
            untilMicros: atMicros + 1_000_000,
            sink: (event) => trace.push(event),
          });
          await device.close();
          return end;
        };
        expect(await clock.run(work(), 10 * MINUTE)).toEqual({ ok: true });
        expect(trace.filter(({ kind }) => kind === "contact")).toHaveLength(gaps.length);
        const most = mostOf(lines);
        expect(most.underWay).toBeLessThanOrEqual(window);
        expect(most.queued).toBeLessThanOrEqual(queue);
        reached = {
          underWay: reached.underWay || most.underWay > 1,
          queued: reached.queued || most.queued === queue,
        };
      },
    ),
    { numRuns: RUNS },
  );
  expect(reached).toEqual({ underWay: true, queued: true });
});

/** The most requests that were unanswered, and the most inputs asked for and not done, as the bench could know. */
function mostOf(lines: readonly string[]): { readonly underWay: number; readonly queued: number } {
  const unanswered = new Set<string>();
  let queued = 0;
  const most = { underWay: 0, queued: 0 };
  for (const line of lines) {
    const [mark, first = "", second = ""] = line.split(" ");
    if (mark === ">") {
      unanswered.add(first);
      if (second === "at") queued += 1;
    } else if (first === "ok") unanswered.delete(second);
    else if (second === "did") queued -= 1;
    most.underWay = Math.max(most.underWay, unanswered.size);
    most.queued = Math.max(most.queued, queued);
  }
  return most;
}

test("a device that greets otherwise after a fault is not run on what it said before", async () => {
  let greetings = 0;
  const profile = {
    ...MOCK_PROFILE,
    get name() {
      greetings += 1;
      // Read once for `boot`, then for each greeting.
      return greetings <= 2 ? "one controller" : "another controller";
    },
  };
  const broken: StartRun = () => {
    throw new Error("it cannot begin");
  };
  const device = await connect(await openMockTransport(broken, profile));
  const job = { settings: sound({ strokes: 1, contacts: 1, leastSpacingMicros: 100_000 }), stimulus: [] };
  const run = () => device.run({ ...job, untilMicros: 1_000_000, sink: () => undefined });
  const ends = [await run(), await run()];
  await device.close();
  expect(ends.map((end) => (end.ok ? "" : end.fault.kind))).toEqual(["failed", "nonsense"]);
});
