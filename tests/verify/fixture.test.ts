/**
 * Is a controller that is seen only from its terminals judged by what its terminals show, and by no more?
 */
import { expect, test } from "vitest";
import type { StartRun } from "../../harness/device.js";
import { fixtureProfile, openMockTransport } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { connect } from "../../harness/link/client.js";
import { statusOfReport, verifyDevice } from "../../harness/verify/verify.js";
import type { VerifyReport } from "../../harness/verify/report.js";
import type { SettingsInput } from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";

const SET_BY_HAND: SettingsInput = { strokes: 3, contacts: 2, leastSpacingMicros: 500_000 };

/** The pacer behind a fixture, whose controller is set by hand to `inside`. */
async function verified(inside: SettingsInput, scenarios: readonly string[]): Promise<VerifyReport> {
  const start: StartRun = (_, sink, options) => runModel(sound(inside), sink, options);
  const wired = ["close", "open", "prime-on", "prime-off", "hold-on", "hold-off"] as const;
  const profile = { ...fixtureProfile(SET_BY_HAND), takes: wired, laws: [1, 3, 4, 5, 6, 7, 8, 14, 15] };
  const device = await connect(await openMockTransport(start, profile));
  try {
    return await verifyDevice(device, sound(SET_BY_HAND), { scenarios, runs: 15 });
  } finally {
    await device.close();
  }
}

const SCENARIOS = [
  "steady",
  "step",
  "peak-above-the-cap",
  "long-silence",
  "prime-too-long",
  "hold-and-release",
];

test("a correct controller seen by its strokes alone breaks no law, and what cannot be seen is not passed", async () => {
  const report = await verified(SET_BY_HAND, SCENARIOS);
  const answers = Object.fromEntries(report.laws.map(({ law, answer }) => [law, answer]));
  expect(answers).toEqual({
    proportion: "holds",
    balance: "not seen",
    cap: "holds",
    causality: "holds",
    prime: "holds",
    silence: "holds",
    debt: "not seen",
    "still-water": "holds",
    "wake-ups": "not seen",
    "time-shift": "not seen",
    lateness: "not seen",
    "power-cycle": "not seen",
    bounce: "not seen",
    totality: "holds",
    guard: "not seen",
  });
  expect(statusOfReport(report)).toBe(0);
});

test.each([
  { law: "causality", mistake: "gives more strokes a contact", inside: { ...SET_BY_HAND, strokes: 4 } },
  { law: "proportion", mistake: "gives fewer strokes a contact", inside: { ...SET_BY_HAND, contacts: 3 } },
  { law: "cap", mistake: "paces faster", inside: { ...SET_BY_HAND, leastSpacingMicros: 400_000 } },
  // Past the longest hold a stroke is no longer a primed one, and nothing pays for it.
  {
    law: "causality",
    mistake: "primes for longer",
    inside: { ...SET_BY_HAND, longestPrimeMicros: 90_000_000 },
  },
] as const)("a controller behind a fixture that $mistake than it is set to breaks $law", async (faulty) => {
  const { laws } = await verified(faulty.inside, SCENARIOS);
  expect(laws.filter(({ answer }) => answer === "broken").map(({ law }) => law)).toContain(faulty.law);
});
