/**
 * Does this trace keep the laws? Watches it go by, once, in constant memory. Laws layer.
 */
import type { Settings } from "../pacing/index.js";
import type { EventKind, TraceEvent } from "../trace/index.js";
import { balance, causality, debt, powerCycle } from "./accounts.js";
import { bounce, totality } from "./form.js";
import { finding, type Verdict } from "./law.js";
import { proportion } from "./proportion.js";
import { apply, newReckoning, settle } from "./reckoning.js";
import type { Standing } from "./standing.js";
import { cap, guard, lateness, prime, silence, stillWater } from "./timing.js";

export interface JudgeOptions {
  /** The remainder at the start, 0 to d − 1, where it is known; a device seen from outside may have any. */
  readonly startRemainder?: number;
  /** How far time stamps of the response may be off, in µs; default 0. Those of the stimulus are taken as exact. */
  readonly toleranceMicros?: number;
  /** Whether the wake-ups of this run came late on purpose; default `on time`. */
  readonly driven?: "late" | "on time";
  /** The kinds of response that the controller tells at all; default everything. */
  readonly tells?: ReadonlySet<EventKind>;
}

export interface TraceJudgement {
  readonly see: (event: TraceEvent) => void;
  /** One verdict for each of the fifteen laws, in their order. */
  readonly verdicts: () => Verdict[];
}

/** Judges one trace. Laws 9 and 10 compare two runs: of them one trace cannot tell (see {@link judgePair}). */
export function judgeTrace(settings: Settings, options: JudgeOptions = {}): TraceJudgement {
  const standing: Standing = {
    startKnown: options.startRemainder !== undefined,
    toleranceMicros: options.toleranceMicros ?? 0,
    isLate: options.driven === "late",
    tells: (kind) => options.tells?.has(kind) ?? true,
  };
  const reckoning = newReckoning(settings, options.startRemainder ?? 0, standing);
  const oneRun = { see: () => undefined };
  const judges = [
    proportion(standing),
    balance(),
    cap(standing),
    causality(standing),
    prime(standing),
    silence(standing),
    debt(standing),
    stillWater(standing),
    { ...oneRun, verdict: () => finding("wake-ups", "effects").verdict("it takes two runs") },
    { ...oneRun, verdict: () => finding("time-shift", "effects").verdict("it takes two runs") },
    lateness(standing),
    powerCycle(standing),
    bounce(standing),
    totality(),
    guard(standing),
  ];
  return {
    see(event) {
      settle(reckoning, event.atMicros);
      for (const judge of judges) judge.see(event, reckoning);
      apply(reckoning, event);
    },
    verdicts: () => judges.map((judge) => judge.verdict(reckoning)),
  };
}
