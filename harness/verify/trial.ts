/**
 * Does a device keep the laws in one run? Plays a stimulus in one way and judges what comes back. Harness layer.
 *
 * A way is how the run is driven beside the stimulus: as it is, with wake-ups that nobody asked for, at another reading
 * of the clock, with late wake-ups. Two of them compare with the run as it is; so they need time that can be let go on.
 */
import {
  judgePair,
  judgeTrace,
  type LawName,
  type Verdict,
  withBounce,
  withExtraWakes,
  withPowerCuts,
} from "../../lib/laws/index.js";
import { type Micros, MINUTE, type Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent, TraceEvent } from "../../lib/trace/index.js";
import type { Device, DeviceAbout, DeviceFault } from "../device.js";
import {
  eventsOf,
  lastMicrosOf,
  type Passage,
  passagesOf,
  type Stimulus,
  untilOf,
} from "../stimuli/passage.js";

/** How a stimulus is played. */
export const WAYS = ["as it is", "with extra wake-ups", "at another clock", "with late wake-ups"] as const;
export type Way = (typeof WAYS)[number];

export interface Trial {
  readonly settings: Settings;
  readonly stimulus: Stimulus;
  readonly way: Way;
}

/** How the bench stands to the device. */
export interface Bench {
  readonly device: Device;
  readonly toleranceMicros: Micros;
  readonly signal?: AbortSignal | undefined;
  /** Told every event of every run, for people who watch. */
  readonly watch?: ((event: TraceEvent) => void) | undefined;
}

export type Judged =
  | {
      readonly ok: true;
      readonly verdicts: readonly Verdict[];
      readonly strokes: number;
      readonly isStopped: boolean;
      /** Device time that it took. */
      readonly deviceMicros: Micros;
      readonly trace: readonly TraceEvent[];
    }
  | { readonly ok: false; readonly fault: DeviceFault; readonly deviceMicros: Micros };

/** By how many whole minutes, and ticks more, the clock of a compared run is ahead. */
const CLOCK_AHEAD: Micros = 7 * MINUTE;
const TICKS_AHEAD = 13;
/** How late wake-ups come at most. */
const LAG: Micros = 3_000_000;
const CUT_EVERY = 3;

/** Plays and judges. `reference` is the trace of the same stimulus as it is, where there is one already. */
export async function judge(bench: Bench, trial: Trial, reference?: readonly TraceEvent[]): Promise<Judged> {
  switch (trial.way) {
    case "as it is":
      return judgeAlone(bench, trial, {});
    case "with late wake-ups":
      return onlyLaw("lateness", await judgeAlone(bench, trial, { lagMicros: LAG }));
    case "with extra wake-ups":
    case "at another clock":
      return judgeBoth(bench, trial, reference);
  }
}

/** The ways in which a stimulus is played on a device. */
export function waysFor(about: DeviceAbout): Way[] {
  const isVirtual = about.clock === "virtual";
  return [
    "as it is",
    ...(isVirtual && about.takes.has("wake") ? (["with extra wake-ups"] as const) : []),
    ...(isVirtual && about.canStartAt ? (["at another clock"] as const) : []),
    ...(about.canLag ? (["with late wake-ups"] as const) : []),
  ];
}

/** The stimulus with a power cut every few events, or with every contact a bouncing closure, where the device takes it. */
export function variantsOf(stimulus: Stimulus, settings: Settings, about: DeviceAbout): Stimulus[] {
  const takes = (...kinds: StimulusEvent["kind"][]): boolean => kinds.every((kind) => about.takes.has(kind));
  const events = eventsOf(stimulus.passages);
  const vary = (
    with_: (give: (event: StimulusEvent) => void) => (event: StimulusEvent) => void,
  ): Stimulus => {
    const varied: StimulusEvent[] = [];
    const give = with_((event) => varied.push(event));
    for (const event of events) give(event);
    return { ...stimulus, passages: passagesOf(varied) };
  };
  const hasContacts = events.some(({ kind }) => kind === "contact");
  return [
    ...(takes("power-off", "power-on") ? [vary((give) => withPowerCuts(give, CUT_EVERY))] : []),
    ...(takes("close", "open") && hasContacts ? [vary((give) => withBounce(give, settings))] : []),
  ];
}

/** What a device can be given: where it takes no contacts, clean closures instead. */
export function adapted({ passages, ...rest }: Stimulus, settings: Settings, about: DeviceAbout): Stimulus {
  if (about.takes.has("contact")) return { ...rest, passages };
  const closedMicros = 2 * settings.closedMicros + 1_000;
  const least = closedMicros + 2 * settings.openMicros + 1_000;
  return { ...rest, passages: passages.map((passage) => closures(passage, closedMicros, least)) };
}

function closures(passage: Passage, closedMicros: Micros, least: Micros): Passage {
  if (passage.kind !== "contacts") return passage;
  return {
    ...passage,
    kind: "closures",
    closedMicros,
    afterMicros: Math.max(passage.afterMicros, least - closedMicros),
    everyMicros: Math.max(passage.everyMicros, least),
  };
}

interface Drive {
  readonly startMicros?: Micros;
  readonly lagMicros?: Micros;
  readonly extraWakes?: boolean;
}

async function judgeAlone(bench: Bench, trial: Trial, drive: Drive): Promise<Judged> {
  const judgement = judgeTrace(trial.settings, {
    // A fixture cannot make its controller forget what was paid for before.
    ...(bench.device.about.role === "fixture" ? {} : { startRemainder: 0 }),
    toleranceMicros: bench.toleranceMicros,
    tells: bench.device.about.tells,
    driven: drive.lagMicros === undefined ? "on time" : "late",
  });
  const played = await play(bench, trial, drive);
  if (!played.ok) return played;
  for (const event of played.trace) judgement.see(event);
  return { ...played, verdicts: judgement.verdicts() };
}

async function judgeBoth(bench: Bench, trial: Trial, known?: readonly TraceEvent[]): Promise<Judged> {
  const { tickMicros } = bench.device.about;
  const isMoved = trial.way === "at another clock";
  const pair = judgePair(isMoved ? "time-shift" : "wake-ups");
  let before: Micros = 0;
  let reference = known;
  if (reference === undefined) {
    const plain = await play(bench, trial, {});
    if (!plain.ok) return plain;
    reference = plain.trace;
    before = plain.deviceMicros;
  }
  const elsewhere = trial.stimulus.startMicros === undefined ? CLOCK_AHEAD + TICKS_AHEAD * tickMicros : 0;
  const variant = await play(bench, trial, isMoved ? { startMicros: elsewhere } : { extraWakes: true });
  if (!variant.ok) return { ...variant, deviceMicros: before + variant.deviceMicros };
  for (const event of reference) pair.seeReference(event);
  for (const event of variant.trace) pair.seeVariant(event);
  return { ...variant, deviceMicros: before + variant.deviceMicros, verdicts: [pair.verdict()] };
}

type Played =
  Exclude<Judged, { readonly ok: true }> | Omit<Extract<Judged, { readonly ok: true }>, "verdicts">;

async function play(bench: Bench, { settings, stimulus }: Trial, drive: Drive): Promise<Played> {
  const { device, signal, watch } = bench;
  const trace: TraceEvent[] = [];
  let strokes = 0;
  let isStopped = false;
  const untilMicros = untilOf(stimulus);
  const startMicros = drive.startMicros ?? stimulus.startMicros ?? 0;
  const end = await device.run({
    settings,
    stimulus: drive.extraWakes === true ? woken(stimulus) : eventsOf(stimulus.passages),
    untilMicros,
    ...(device.about.canStartAt ? { startMicros } : {}),
    ...(drive.lagMicros === undefined ? {} : { lagMicros: drive.lagMicros }),
    ...(signal === undefined ? {} : { signal }),
    sink(event) {
      trace.push(event);
      if (event.kind === "paced") strokes += 1;
      isStopped ||= stops(event);
      watch?.(event);
    },
  });
  return end.ok
    ? { ok: true, trace, strokes, isStopped, deviceMicros: untilMicros }
    : { ok: false, fault: end.fault, deviceMicros: untilMicros };
}

function stops(event: TraceEvent): boolean {
  if (event.kind === "alarm-on") return event.alarm === "tripped";
  return event.kind === "hold-on" || event.kind === "inhibit-on";
}

function woken(stimulus: Stimulus): StimulusEvent[] {
  const events: StimulusEvent[] = [];
  const give = withExtraWakes((event) => events.push(event));
  for (const event of eventsOf(stimulus.passages)) give(event);
  const lastMicros = lastMicrosOf(stimulus.passages);
  for (const part of [1, 2]) {
    events.push({ kind: "wake", atMicros: lastMicros + Math.floor((stimulus.tailMicros * part) / 3) });
  }
  return events;
}

function onlyLaw(law: LawName, judged: Judged): Judged {
  return judged.ok
    ? { ...judged, verdicts: judged.verdicts.filter((verdict) => verdict.law === law) }
    : judged;
}
