/**
 * Is the link in C the one in TypeScript? Both are told the same damaged sessions, and must say the same, byte for byte.
 *
 * With ticks of 1 µs, where the twin and the core reckon in the same numbers, on a stepped clock.
 */
import fc from "fast-check";
import { expect } from "vitest";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import type { StartRun } from "../../harness/device.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { SETTING_NAMES } from "../../harness/link/setting-names.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { Bench } from "../link/bench.js";
import { anyStep, Sender, SETUP, SOUND, type Step } from "../link/damaged.js";
import { runs } from "../support/runs.js";
import { compileNative, converse, nativeTest } from "./link-kit.js";

const RANGE = 2 ** 32;
const RUNS = runs(40);
/** Longest duration of the twin, in ticks. */
const DURATION_MOST = 1_350_000_000;

const PROFILE: DeviceProfile = {
  ...MOCK_PROFILE,
  name: "native controller",
  queue: 4,
  window: 2,
  keep: 0,
  clock: ["stepped", "free", "settable", "lag"],
  takes: [
    ...(["wake", "close", "open", "contact", "prime-on", "prime-off", "hold-on", "hold-off"] as const),
    ...(["inhibit-on", "inhibit-off", "reset", "settings", "power-off", "power-on"] as const),
  ],
  tells: [
    ...(["paced", "primed", "counted", "ignored", "rejected", "shed", "refused"] as const),
    ...(["alarm-on", "alarm-off", "status"] as const),
  ],
  settable: SETTING_NAMES,
  madeByHand: {
    strokes: 1,
    contacts: 1,
    leastSpacingMicros: 500_000,
    guardPeriodMicros: DURATION_MOST,
    stuckMicros: DURATION_MOST,
    silentMicros: DURATION_MOST,
  },
};

/** Tells the accounts where they have changed, and after the power is back. */
const startTold: StartRun = (settings, sink, options) => {
  let last = JSON.stringify([0, 0, 0, 0, 0, 0]);
  let isDark = false;
  let isBack = false;
  return runModel(
    settings,
    (event: TraceEvent) => {
      if (event.kind === "power-off") isDark = true;
      if (event.kind === "power-on") [isBack, isDark] = [isDark, false];
      if (event.kind === "status") {
        const { earned, paced, primed, owed, shed, remainder } = event;
        const accounts = JSON.stringify([earned, paced, primed, owed, shed, remainder]);
        if (accounts === last && !isBack) return;
        last = accounts;
        isBack = false;
      }
      sink(event);
    },
    options,
  );
};

/** What a session may not ask for, since there the two differ by nature: a free clock, and what the twin cannot hold. */
function asBothCan(words: string): string {
  const [, name = "", digits = ""] = /^set (\w+) (\d+)$/.exec(words) ?? [];
  if (words === "begin free") return "begin stepped";
  // The twin's spread of late wake-ups repeats with its counter: so does one over a power of two.
  if (words.startsWith("lag ")) return `lag ${2 ** (Number(words.slice(4)) % 20) - 1}`;
  if (name === "") return words;
  // A burst that takes longer than its longest duration to earn, the twin refuses.
  if (name === "guardBurstStrokes") return `set ${name} ${Number(digits) % 3}`;
  // Ten contacts' worth, the usual owed limit, must fit 16 bits in the twin.
  if (name === "strokes") return `set ${name} ${Number(digits) % 6_000}`;
  const most = name.startsWith("guard") ? 60 : name.endsWith("Micros") ? DURATION_MOST : 65_535;
  return `set ${name} ${Number(digits) % (most + 1)}`;
}

/** The counter near its ends, long silences, settings that matter: what a damaged session reaches too seldom. */
const farStep: fc.Arbitrary<Step> = fc
  .oneof(
    fc.nat({ max: RANGE / 2 - 1 }).map((ticks) => `go +${ticks}`),
    // Later than all that may be queued, so that the queue fills up.
    fc.constant(`at +${RANGE / 2 - 1}`),
    fc.integer({ min: 1, max: 2_000_000 }).map((ticks) => `go +${ticks}`),
    fc.nat({ max: 100_000 }).map((before) => `clock ${RANGE - 1 - before}`),
    fc.constant("begin stepped"),
    fc.constantFrom("do contact", "do close", "do open", "do prime-on", "tell", "end", "hello 9"),
    fc.constantFrom("do power-off", "do power-on dark-known", "do power-on dark-unknown"),
    fc.constantFrom("set guardBudgetStrokes 4", "set guardBurstStrokes 2", "set guardPeriodMicros 1000000"),
    fc.constantFrom("set closedMicros 0", "set stuckMicros 70000", "set silentMicros 900000"),
    fc.constantFrom("set cadence spread", "set contactsDuringPrime ignore", "set leastContactMicros 4000"),
    fc.constantFrom("do settings confirmed", "do settings unconfirmed", "set contacts 3", "set strokes 2"),
  )
  .map((words) => ({ ...SOUND, words }));

interface Session {
  readonly sent: Uint8Array;
  readonly said: string;
}

/** Plays a session on our own end. */
function play(steps: readonly Step[]): Session {
  const bench = new Bench({ profile: PROFILE, start: startTold });
  const sender = new Sender(RANGE);
  const sent: Uint8Array[] = [];
  const send = (bytes: Uint8Array): void => {
    sent.push(bytes);
    sender.heed(bench.raw(bytes));
  };
  const first = ["hello 1", ...SETUP, "set leastContactMicros 100", "begin stepped"].map((words): Step => ({
    ...SOUND,
    words,
  }));
  for (const step of [...first, ...steps]) send(sender.bytesOf({ ...step, words: asBothCan(step.words) }));
  return { sent: Buffer.concat(sent), said: bench.text };
}

nativeTest("told the same damaged session, the link in C says what ours says, byte for byte", () => {
  const program = compileNative({ tickMicros: 1 });
  let lines = 0;
  const kinds = new Set<string>();
  fc.assert(
    fc.property(
      fc.array(fc.oneof(anyStep, farStep), { minLength: 20, maxLength: 300, size: "max" }),
      (steps) => {
        const { sent, said } = play(steps);
        lines += steps.length;
        expect(converse(program, sent)).toBe(said);
        for (const [, kind, reason] of said.matchAll(/^(?:\d+ ([a-z-]+) \d+|no \S+ ([a-z]+))/gm)) {
          kinds.add(kind ?? `no ${reason ?? ""}`);
        }
      },
    ),
    { numRuns: RUNS },
  );
  process.stdout.write(`link in C: ${lines} lines said alike; ${[...kinds].sort().join(", ")}\n`);
  const rare = ["shed", "primed", "alarm-off", "rejected"];
  // Fewer runs than usual may miss one.
  if (RUNS >= 40) expect(rare.filter((kind) => !kinds.has(kind))).toEqual([]);
});

const ASKED: readonly (readonly [about: string, words: readonly string[]])[] = [
  [
    "an input at once after what is queued for the very tick",
    ["at +0", "do prime-on", "go +100", "do prime-off"],
  ],
  [
    "a change after one that was refused",
    [
      ...["set strokes 30", "set owedLimitStrokes 40", "do settings unconfirmed", "set strokes 7"],
      ...["do settings unconfirmed", "set strokes 5", "do settings unconfirmed", "do contact", "go +9000000"],
      ...["set strokes 20", "do settings unconfirmed", "do settings confirmed", "do contact", "go +9000000"],
    ],
  ],
  [
    "a power cut long after the last step",
    [
      ...["set cadence spread", "set graceMicros 90000", "begin stepped", "do contact", "go +20000"],
      ...["do power-off", "go +75000", "do power-on dark-known", "go +100000"],
    ],
  ],
  [
    "a darkness so long that the counter has gone round",
    [
      ...["set cadence spread", "set graceMicros 90000", "begin stepped", "do contact", "do power-off"],
      ...[`go +${RANGE / 2 - 1}`, `go +${RANGE / 2 - 1}`, "go +12", "do power-on dark-known", "go +100000"],
    ],
  ],
  [
    "settings that were spoilt before they came into force",
    ["at 1000 settings confirmed", "set stuckMicros 9000", "go +2000", "do contact", "tell", "go +2000"],
  ],
];

nativeTest.each(ASKED)("%s is said alike", (_, words) => {
  const { sent, said } = play(words.map((each) => ({ ...SOUND, words: each })));
  expect(converse(compileNative({ tickMicros: 1 }), sent)).toBe(said);
  expect(said).not.toMatch(/^no /m);
});
