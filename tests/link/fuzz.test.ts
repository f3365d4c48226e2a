/**
 * Does the device's end survive sessions that were damaged in every way, and say only what the page allows?
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { Bench, VirtualClock } from "./bench.js";
import { anyStep, Sender, SETUP, SOUND, type Step } from "./damaged.js";
import { runs } from "../support/runs.js";

const RUNS = runs(1_500);
/** A session in which a free clock idles takes its time. */
const TIMEOUT_MILLIS = 120_000 + RUNS * 100;
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
