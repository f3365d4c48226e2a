import { describe, expect, test } from "vitest";
import type { Run, StartRun, TraceSink } from "../../harness/device.js";
import { type ModelRun, runModel } from "../../harness/devices/model.js";
import { runJudged } from "../../harness/devices/trials.js";
import { LAW_NAMES, type LawName, type Verdict } from "../../lib/laws/index.js";
import { type Input, SECOND, type SettingsInput, type State } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import { sound } from "../support/arbitraries.js";

/** A controller with one mistake: the pacer, tampered with. */
interface Faulty {
  readonly law: LawName;
  readonly mistake: string;
  readonly settings?: Partial<SettingsInput>;
  readonly stimulus: readonly StimulusEvent[];
  readonly start: StartRun;
  /** The first moment at which it must be seen. */
  readonly brokenAtMicros: number;
}

const plain: SettingsInput = {
  strokes: 5,
  contacts: 3,
  leastSpacingMicros: SECOND / 2,
  cadence: "prompt",
  graceMicros: 20 * SECOND,
};

const at = (
  seconds: number,
  kind: Exclude<Input["kind"], "settings" | "inhibit-on" | "inhibit-off">,
): StimulusEvent => ({
  kind,
  atMicros: Math.round(seconds * SECOND),
});
const contacts = (...seconds: number[]): StimulusEvent[] => seconds.map((second) => at(second, "contact"));
const cut = (off: number, on: number): StimulusEvent[] => [
  at(off, "power-off" as "wake"),
  { kind: "power-on", atMicros: on * SECOND, darkKnown: true },
];

/** The pacer with other settings than it was asked to have. */
function withSettings(change: Partial<SettingsInput>): StartRun {
  return (settings, sink, options) => runModel(sound({ ...pick(settings), ...change }), sink, options);
}

function pick(settings: SettingsInput): SettingsInput {
  const {
    strokes,
    contacts: per,
    leastSpacingMicros,
    cadence,
    owedLimitStrokes,
    graceMicros,
  } = settings as Required<SettingsInput>;
  return { strokes, contacts: per, leastSpacingMicros, cadence, owedLimitStrokes, graceMicros };
}

// What was tampered with may make a stroke due sooner than the core had asked for.
function wakeSoon(s: State): void {
  s.wakeAtMicros = Math.min(s.wakeAtMicros, s.nowMicros + 1);
}

/** The pacer, whose state is tampered with before or after some inputs. */
function tampered(tamper: {
  readonly before?: (s: State, event: StimulusEvent) => void;
  readonly after?: (s: State, event: StimulusEvent) => void;
  readonly told?: (s: State, event: Parameters<TraceSink>[0], askedMicros: number) => void;
}): StartRun {
  return (settings, sink, options = {}) => {
    let askedMicros = 0;
    const lateness = (asked: number): number => {
      askedMicros = asked;
      return options.lateness?.(asked) ?? 0;
    };
    const run: ModelRun = runModel(
      settings,
      (event) => {
        sink(event);
        tamper.told?.(run.state, event, askedMicros);
        if (tamper.told && (event.kind === "paced" || event.kind === "counted")) wakeSoon(run.state);
      },
      { ...options, lateness },
    );
    return {
      give(event) {
        tamper.before?.(run.state, event);
        run.give(event);
        tamper.after?.(run.state, event);
        wakeSoon(run.state);
      },
      end: run.end,
    } satisfies Run;
  };
}

const FAULTY: readonly Faulty[] = [
  {
    law: "proportion",
    mistake: "drops what is left over of each contact",
    stimulus: contacts(1, 5, 9, 13, 17),
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "contact") s.remainder = 0;
      },
    }),
    brokenAtMicros: 5 * SECOND,
  },
  {
    law: "balance",
    mistake: "forgets owed strokes on hold without counting them",
    settings: { cadence: "spread" },
    stimulus: [...contacts(1, 5, 9), at(9.5, "hold-on"), at(30, "hold-off"), ...contacts(40)],
    start: tampered({
      before: (s, { kind }) => {
        if (kind === "hold-on") s.owed = 0;
      },
    }),
    brokenAtMicros: 9_000_001,
  },
  {
    law: "cap",
    mistake: "lets the first stroke after a prime come at once",
    stimulus: [...contacts(1), at(4, "prime-on"), ...contacts(5), at(5.2, "prime-off")],
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "prime-off") s.strokeMicros = 0;
      },
    }),
    brokenAtMicros: 5_200_001,
  },
  {
    law: "causality",
    mistake: "counts the second contact twice when it feeds",
    stimulus: contacts(1, 9, 17),
    // It tells nothing of its accounts: they could not balance.
    start: (settings, sink, options) => {
      const inner = tampered({
        told: (s, event) => {
          if (event.kind !== "counted" || s.counted !== 2) return;
          s.owed += 1;
          s.earned += 1;
        },
      });
      return inner(
        settings,
        (event) => {
          if (event.kind !== "status") sink(event);
        },
        options,
      );
    },
    brokenAtMicros: 10 * SECOND,
  },
  {
    law: "prime",
    mistake: "makes one more primed stroke after release",
    stimulus: [at(2, "prime-on"), at(4.2, "prime-off")],
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "prime-off") s.priming = 1;
      },
      told: (s, { kind, atMicros }) => {
        if (kind === "primed" && !s.primePressed && atMicros > s.primeSinceMicros) s.priming = 0;
      },
    }),
    brokenAtMicros: 4.5 * SECOND,
  },
  {
    law: "silence",
    mistake: "finishes what is owed while held",
    stimulus: [...contacts(1, 5), at(5.2, "hold-on"), at(12, "hold-off"), ...contacts(20)],
    start: (settings, sink, options) => {
      const run = runModel(settings, sink, options);
      return {
        give: (event) => {
          if (event.kind === "hold-on" || event.kind === "hold-off") {
            run.give({ kind: "wake", atMicros: event.atMicros });
            sink(event);
          } else run.give(event);
        },
        end: run.end,
      };
    },
    brokenAtMicros: 5.5 * SECOND,
  },
  {
    law: "debt",
    mistake: "lets owed grow past its limit",
    settings: { owedLimitStrokes: 2 },
    stimulus: contacts(1, 1.1, 1.2, 1.3),
    start: withSettings({ owedLimitStrokes: 50 }),
    brokenAtMicros: 1.2 * SECOND,
  },
  {
    law: "still-water",
    mistake: "feeds what is owed into still water",
    settings: { graceMicros: SECOND },
    stimulus: contacts(1, 1.1, 1.2, 1.3),
    start: withSettings({ graceMicros: 60 * SECOND }),
    brokenAtMicros: 2.5 * SECOND,
  },
  {
    law: "wake-ups",
    mistake: "puts off the next stroke at every wake-up",
    settings: { cadence: "spread" },
    stimulus: contacts(1, 5, 9, 13),
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "wake") s.planMicros += 1_000;
      },
    }),
    brokenAtMicros: 5_666_666,
  },
  {
    law: "time-shift",
    mistake: "lays strokes out by a coarse clock",
    settings: { cadence: "spread" },
    stimulus: contacts(1, 5, 9, 13),
    start: tampered({
      after: (s, { kind }) => {
        if (kind === "contact") s.planMicros += (s.nowMicros * 7) % 1_000;
      },
    }),
    brokenAtMicros: 5_666_666,
  },
  {
    law: "lateness",
    mistake: "makes up for a late tick with two strokes at once",
    stimulus: contacts(1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 13),
    start: tampered({
      told: (s, { kind, atMicros }, askedMicros) => {
        if (kind === "paced" && atMicros > askedMicros && askedMicros > 0) s.strokeMicros = askedMicros;
      },
    }),
    brokenAtMicros: 0,
  },
  {
    law: "power-cycle",
    mistake: "forgets the started part of a stroke when the power goes",
    stimulus: [...contacts(1, 5), ...cut(9.2, 10)],
    start: (settings, sink, options) => {
      let goingDark = false;
      const run = runModel(
        settings,
        (event) => {
          sink(event);
          if (event.kind === "power-off") goingDark = true;
          if (event.kind !== "status" || !goingDark) return;
          goingDark = false;
          const s: State = run.state;
          s.remainder = 0;
        },
        options,
      );
      return run;
    },
    brokenAtMicros: 10 * SECOND,
  },
  {
    law: "bounce",
    mistake: "loses a contact that bounces while it is closed",
    stimulus: [at(1, "close"), at(1.015, "open"), at(1.02, "close"), at(1.035, "open"), ...contacts(20)],
    start: withSettings({ closedMicros: 16_000 }),
    brokenAtMicros: 0,
  },
  {
    law: "totality",
    mistake: "answers nonsense after a reset",
    stimulus: [...contacts(1, 5), at(9, "reset"), ...contacts(14)],
    start: (settings, sink, options) =>
      runModel(
        settings,
        (event) => {
          sink(event.kind === "status" && event.atMicros === 9 * SECOND ? { ...event, remainder: 3 } : event);
        },
        options,
      ),
    brokenAtMicros: 9 * SECOND,
  },
  {
    law: "guard",
    mistake: "has no guard",
    settings: { guardBudgetStrokes: 4, guardPeriodMicros: 3600 * SECOND },
    stimulus: contacts(1, 5, 9, 13),
    start: withSettings({}),
    brokenAtMicros: 9.5 * SECOND,
  },
];

function verdictsOn(faulty: Faulty): Verdict[] {
  const settings = sound({ ...plain, ...faulty.settings });
  const run = runJudged(settings, () => undefined, faulty.start);
  for (const event of faulty.stimulus) run.give(event);
  run.end(100 * SECOND);
  return run.verdicts();
}

describe("every law can fail", () => {
  test("there is a faulty controller for each law", () => {
    expect(FAULTY.map(({ law }) => law)).toEqual(LAW_NAMES);
  });

  test.each(FAULTY)("a controller that $mistake breaks $law and no other law", (faulty) => {
    const broken = verdictsOn(faulty).filter(({ answer }) => answer === "broken");
    expect(broken.map(({ law, evidence }) => `${law}: ${evidence ?? ""}`)).toEqual([
      expect.stringMatching(`^${faulty.law}: .`),
    ]);
    if (faulty.brokenAtMicros > 0) expect(broken[0]?.brokenAtMicros).toBe(faulty.brokenAtMicros);
  });

  test.each(FAULTY)("the correct pacer holds where one $mistake", ({ law, settings, stimulus }) => {
    const verdicts = verdictsOn({
      law,
      mistake: "",
      settings: settings ?? {},
      stimulus,
      start: runModel,
      brokenAtMicros: 0,
    });
    expect(verdicts.filter(({ answer }) => answer === "broken")).toEqual([]);
  });
});
