import { describe, expect, test } from "vitest";
import type { StartRun } from "../../harness/device.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { runModel } from "../../harness/devices/model.js";
import { openDevice } from "../../harness/devices/open.js";
import { verifyObject } from "../../harness/report/verify-json.js";
import { SCENARIOS } from "../../harness/stimuli/scenarios.js";
import { statusOfReport, verifyDevice } from "../../harness/verify/verify.js";
import { LAW_NAMES, type LawName } from "../../lib/laws/index.js";
import { MINUTE, SECOND } from "../../lib/pacing/index.js";
import { sound } from "../support/arbitraries.js";
import { failing, FIVE_THIRDS, tampered, telling, withSettings } from "./kit.js";
import { runs } from "../support/runs.js";

const EVENTS_MOST = 8;

describe("a controller that keeps the laws", () => {
  const settings = [
    FIVE_THIRDS,
    sound({ strokes: 2, contacts: 1, leastSpacingMicros: SECOND / 2 }),
    sound({ strokes: 1, contacts: 5, leastSpacingMicros: SECOND, cadence: "prompt" }),
    sound({ strokes: 3, contacts: 2, leastSpacingMicros: 333_334, guardBudgetStrokes: 900 }),
    sound({ strokes: 7, contacts: 3, leastSpacingMicros: SECOND / 4, leastContactMicros: 60_000 }),
  ];
  test.each(settings.map((each) => [`${each.strokes}:${each.contacts}`, each] as const))(
    "shows and keeps all fifteen at %s, in every scenario and in generated runs",
    async (_, each) => {
      const report = await verifyDevice(modelDevice(), each, { runs: runs(100), seed: 7 });
      expect(report.laws.map(({ law, answer }) => `${law} ${answer}`)).toEqual(
        LAW_NAMES.map((law) => `${law} holds`),
      );
      expect(statusOfReport(report)).toBe(0);
    },
  );

  test("passes behind the mock port too, where every scenario is played", async () => {
    const device = await openDevice("mock");
    const scenarios = [
      "steady",
      "bounce",
      "contact-storm",
      "prime-in-the-middle",
      "power-cycle-at-every-moment",
    ];
    const report = await verifyDevice(device, FIVE_THIRDS, { scenarios, runs: 10 });
    await device.close();
    expect(report.laws.filter(({ answer }) => answer !== "holds")).toEqual([]);
    expect(statusOfReport(report)).toBe(0);
  });

  test("may lay its strokes out otherwise than ours", async () => {
    const prompt = withSettings({ cadence: "prompt" });
    const report = await verifyDevice(modelDevice(prompt), FIVE_THIRDS, { runs: runs(50) });
    expect(statusOfReport(report)).toBe(0);
  });
});

interface Mistake {
  readonly law: LawName;
  readonly mistake: string;
  readonly start: StartRun;
  readonly scenarios?: readonly string[];
}

/** All that do not take hours of device time. */
const SHORT = SCENARIOS.filter(({ virtualOnly }) => virtualOnly !== true).map(({ name }) => name);

const MISTAKES: readonly Mistake[] = [
  {
    law: "proportion",
    mistake: "loses the remainder when prime begins",
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "prime-on") s.remainder = 0;
      },
    }),
  },
  {
    law: "proportion",
    mistake: "loses the remainder when the 65,536th contact comes",
    scenarios: ["many-contacts"],
    start: tampered({
      after: (s) => {
        if (s.counted === 65_536) s.remainder = 0;
      },
    }),
  },
  {
    law: "balance",
    mistake: "forgets what is owed on hold",
    start: tampered({
      before: (s, { kind }) => {
        if (kind === "hold-on") s.owed = 0;
      },
    }),
  },
  {
    law: "cap",
    mistake: "forgets the last stroke on release of prime",
    start: tampered({
      after: (s, { kind, atMicros }) => {
        if (kind !== "prime-off") return;
        s.strokeMicros = -1;
        s.wakeAtMicros = Math.min(s.wakeAtMicros, atMicros + 1);
      },
    }),
  },
  { law: "debt", mistake: "lets owed grow for ever", start: withSettings({ owedLimitStrokes: 100_000 }) },
  {
    law: "still-water",
    mistake: "feeds what is owed into still water",
    start: withSettings({ graceMicros: 10 * MINUTE }),
  },
  { law: "prime", mistake: "lets a prime run on", start: withSettings({ longestPrimeMicros: 30 * MINUTE }) },
  {
    law: "bounce",
    mistake: "counts bounce",
    start: withSettings({ closedMicros: 1_000, openMicros: 1_000 }),
  },
  {
    law: "guard",
    mistake: "has no guard",
    start: withSettings({ guardBudgetStrokes: 0, guardBurstStrokes: 1 }),
  },
  {
    law: "totality",
    mistake: "reports a remainder that cannot be",
    start: telling((event) =>
      event.kind === "status" && event.primed > 2 ? { ...event, remainder: 70_000 } : event,
    ),
  },
];

describe("a controller with a mistake", () => {
  test.each(MISTAKES)(
    "that $mistake breaks $law, shown by at most eight events",
    async ({ law, start, scenarios = SHORT }) => {
      const report = await verifyDevice(modelDevice(start), FIVE_THIRDS, { runs: 40, scenarios });
      expect(statusOfReport(report)).toBe(1);
      const found = report.counterexamples.find((each) => each.law === law);
      expect(found).toBeDefined();
      expect(found?.isMinimal).toBe(true);
      expect(found?.stimulus.passages.length).toBeLessThanOrEqual(EVENTS_MOST);
    },
  );
});

test("the same seed on the same virtual device gives the same report, shrinking and all", async () => {
  const report = async (): Promise<string> => {
    const device = modelDevice(MISTAKES[0]?.start);
    return JSON.stringify(
      verifyObject(await verifyDevice(device, FIVE_THIRDS, { runs: 30, seed: 11, scenarios: SHORT }), []),
    );
  };
  expect(await report()).toBe(await report());
});

describe("a device that fails is never told to hold what it did not show", () => {
  test.each(["silent", "unplugged", "nonsense", "flood", "restarted", "failed"] as const)(
    "%s from the first run on: exit status 3, and no law holds",
    async (kind) => {
      const report = await verifyDevice(
        failing(() => kind),
        FIVE_THIRDS,
        { runs: 3 },
      );
      expect(statusOfReport(report)).toBe(3);
      expect(report.laws.filter(({ answer }) => answer === "holds")).toEqual([]);
      expect(report.stimuli[0]?.fault?.kind).toBe(kind);
    },
  );

  test("one that dies half way is a fault too, whatever it showed before", async () => {
    const report = await verifyDevice(
      failing((run) => (run > 12 ? "unplugged" : undefined)),
      FIVE_THIRDS,
    );
    expect(statusOfReport(report)).toBe(3);
    expect(report.skipped.map(({ reason }) => reason)).toContain("the device had gone away");
  });

  test("one that stays silent is not asked again, stimulus after stimulus", async () => {
    const { stimuli, skipped } = await verifyDevice(
      failing((run) => (run > 12 ? "silent" : undefined)),
      FIVE_THIRDS,
    );
    expect(stimuli.filter(({ fault }) => fault !== undefined)).toHaveLength(1);
    expect(skipped.map(({ reason }) => reason)).toContain("the device had fallen silent");
  });

  test("a fault that a fresh start mends is counted, and the verdict stands", async () => {
    const report = await verifyDevice(
      failing((run) => (run === 5 ? "lost-report" : undefined)),
      FIVE_THIRDS,
      { scenarios: ["steady"] },
    );
    expect({ status: statusOfReport(report), repeats: report.repeats }).toEqual({ status: 0, repeats: 1 });
  });

  test("one that takes everything and says nothing: 3, and no law holds", async () => {
    const mute: StartRun = (_, sink) => ({ give: sink, end: () => undefined });
    const report = await verifyDevice(modelDevice(mute), FIVE_THIRDS, { runs: 3 });
    expect(statusOfReport(report)).not.toBe(0);
    expect(report.laws.filter(({ answer }) => answer === "holds").map(({ law }) => law)).toEqual([]);
  });

  test("one that counts contacts and strokes never is not told to dose in proportion", async () => {
    const still = telling((event) =>
      ["paced", "primed", "status", "shed"].includes(event.kind) ? undefined : event,
    );
    const report = await verifyDevice(modelDevice(still), FIVE_THIRDS, { runs: 3 });
    expect(statusOfReport(report)).not.toBe(0);
    const held = report.laws.filter(({ answer }) => answer === "holds").map(({ law }) => law);
    for (const law of ["proportion", "cap", "causality", "silence", "guard", "prime", "debt"]) {
      expect(held).not.toContain(law);
    }
  });

  test("a run that is given up ends in 3 and begins nothing more", async () => {
    const stop = new AbortController();
    const report = await verifyDevice(modelDevice(), FIVE_THIRDS, {
      signal: stop.signal,
      watch: {
        begins: (name) => {
          if (name === "step") stop.abort();
        },
        event: () => undefined,
        shrinks: () => undefined,
      },
    });
    expect(statusOfReport(report)).toBe(3);
    expect(report.isGivenUp).toBe(true);
  });
});

test("what a device cannot take is skipped with the reason, and laws it cannot show are not seen", async () => {
  const model = modelDevice(runModel);
  const plain = {
    ...model,
    about: {
      ...model.about,
      takes: new Set(["contact" as const]),
      canLag: false,
      canStartAt: false,
      settable: new Set(["strokes" as const, "contacts" as const]),
      laws: new Set(LAW_NAMES.filter((law) => law !== "debt")),
    },
  };
  const report = await verifyDevice(plain, FIVE_THIRDS, { runs: 5 });
  expect(statusOfReport(report)).toBe(0);
  const told = Object.fromEntries(
    report.laws.map(({ law, answer, evidence }) => [law, answer === "holds" ? answer : evidence]),
  );
  expect(told).toEqual({
    proportion: "holds",
    balance: "holds",
    cap: "holds",
    causality: "holds",
    prime: "the device takes no prime-on and no prime-off",
    silence: "the device takes no hold and no inhibit, and has no guard that could trip",
    debt: "the device says that it cannot be observed on it",
    "still-water": "holds",
    "wake-ups": "the device takes no wake",
    "time-shift": "the device's clock cannot be set",
    lateness: "the device's wake-ups cannot be made late",
    "power-cycle": "the device takes no power-off and no power-on",
    bounce: "the device takes no close and no open",
    totality: "holds",
    guard: "no guard is set, and the device cannot be given one",
  });
  expect(report.skipped.find(({ name }) => name === "hold-and-release")).toEqual({
    name: "hold-and-release",
    reason: "the device takes no hold-on and no hold-off",
  });
});
