/**
 * Does the pacer keep all fifteen laws on this stimulus? One plain run, and a varied one for each law that needs it.
 *
 * Harness layer. The runs go side by side, event by event, so that a log of any length is judged in constant memory.
 */
import { LAST_MICROS, type Micros, MINUTE, type Settings } from "../../lib/pacing/index.js";
import {
  judgePair,
  judgeTrace,
  shifted,
  type LawName,
  type Verdict,
  withBounce,
  withExtraWakes,
  withPowerCuts,
} from "../../lib/laws/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { Run, StartRun, TraceSink } from "./device.js";
import { runModel } from "./model.js";

const SHIFT: Micros = 7 * MINUTE + 13;
const POWER_CUT_EVERY = 7;
const LATEST: Micros = 3_000_017;

/** The plain run, and the verdict on it and its variants. */
export interface JudgedRun extends Run {
  readonly verdicts: () => Verdict[];
}

/** Runs a device and its variants; `sink` is told the trace of the plain run. */
export function runJudged(settings: Settings, sink: TraceSink, start: StartRun = runModel): JudgedRun {
  const plain = judgeTrace(settings, { startRemainder: 0 });
  const wakes = judgePair("wake-ups");
  const shift = judgePair("time-shift", SHIFT);
  const device = start(settings, (event: TraceEvent) => {
    plain.see(event);
    wakes.seeReference(event);
    shift.seeReference(event);
    sink(event);
  });
  const late = judgeTrace(settings, { startRemainder: 0, driven: "late" });
  const cut = judgeTrace(settings, { startRemainder: 0 });
  const bounced = judgeTrace(settings, { startRemainder: 0 });
  const woken = start(settings, wakes.seeVariant);
  const moved = start(settings, shift.seeVariant, { startMicros: SHIFT });
  const belated = start(settings, late.see, { lateness: (askedMicros) => (askedMicros * 31) % LATEST });
  const darkened = start(settings, cut.see);
  const bouncing = start(settings, bounced.see);
  const inputs = [
    device.give,
    withExtraWakes(woken.give),
    shifted(moved.give, SHIFT),
    belated.give,
    withPowerCuts(darkened.give, POWER_CUT_EVERY),
    withBounce(bouncing.give, settings),
  ];

  return {
    give(event) {
      for (const input of inputs) input(event);
    },
    end(untilMicros) {
      for (const run of [device, woken, darkened]) run.end(untilMicros);
      moved.end(untilMicros + SHIFT);
      // These two live in a later time of their own.
      for (const run of [belated, bouncing]) run.end(LAST_MICROS);
    },
    verdicts() {
      const verdicts = plain.verdicts();
      const isBroken = (law: LawName): boolean =>
        verdicts.some((verdict) => verdict.law === law && verdict.answer === "broken");
      const trials = [
        wakes.verdict(),
        shift.verdict(),
        // What breaks even when every wake-up is on time says nothing of lateness.
        ...(isBroken("cap") || isBroken("balance") ? [] : [pick(late, "lateness")]),
        pick(cut, "power-cycle"),
        pick(bounced, "bounce"),
      ];
      return verdicts.map(
        (verdict) => trials.find(({ law }) => law === verdict.law && verdict.answer !== "broken") ?? verdict,
      );
    },
  };
}

function pick(judgement: { verdicts(): Verdict[] }, law: Verdict["law"]): Verdict {
  const found = judgement.verdicts().find((verdict) => verdict.law === law);
  if (found === undefined) throw new Error(`no judge for ${law}`);
  return found;
}
