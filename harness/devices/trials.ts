/**
 * Does the pacer keep all fifteen laws on this stimulus? One plain run, and a varied one for each law that needs it.
 *
 * Harness layer. A varied run that is compared with the plain one, effect by effect, needs no other judge; every other
 * one is judged by all laws. The runs go side by side, event by event, so that a log of any length is judged in
 * constant memory.
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
import type { Run, StartRun, TraceSink } from "../device.js";
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
    verdicts: () =>
      merged(
        [plain.verdicts(), [wakes.verdict(), shift.verdict()]],
        [
          { law: "lateness", varied: "with late wake-ups", verdicts: late.verdicts() },
          { law: "power-cycle", varied: "with power cuts", verdicts: cut.verdicts() },
          { law: "bounce", varied: "with bouncing contacts", verdicts: bounced.verdicts() },
        ],
      ),
  };
}

/** A varied run that is judged by itself, and the law that it is varied for. */
interface Trial {
  readonly law: LawName;
  readonly varied: string;
  readonly verdicts: readonly Verdict[];
}

/**
 * The verdicts on the plain run, and in their stead those of the varied ones: each on its own law, and on any other
 * that it alone shows to be broken, since a controller may lose a contact only when it is woken late.
 */
function merged([plain, pairs]: readonly [Verdict[], Verdict[]], trials: readonly Trial[]): Verdict[] {
  const isBroken = (law: LawName): boolean => plain.some((verdict) => verdict.law === law && broke(verdict));
  // What breaks even when every wake-up is on time says nothing of lateness.
  const telling = trials.filter(({ law }) => law !== "lateness" || !(isBroken("cap") || isBroken("balance")));
  const found = telling.flatMap(foundIn);
  return plain.map((verdict) => {
    if (broke(verdict)) return verdict;
    const others = [...pairs, ...found].filter(({ law }) => law === verdict.law);
    return others.find(broke) ?? others[0] ?? verdict;
  });
}

/** What a varied run says beside the plain one. Where its own law is broken, whatever else breaks follows from that. */
function foundIn({ law, varied, verdicts }: Trial): Verdict[] {
  const own = verdicts.filter((verdict) => verdict.law === law);
  const others = own.some(broke) ? [] : verdicts.filter((verdict) => verdict.law !== law && broke(verdict));
  return [...own, ...others].map((verdict) =>
    broke(verdict) ? { ...verdict, evidence: `${varied}: ${verdict.evidence ?? ""}` } : verdict,
  );
}

function broke({ answer }: Verdict): boolean {
  return answer === "broken";
}
