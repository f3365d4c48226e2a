/**
 * What will be played on this device, for how long, and what not? Harness layer; pure.
 */
import type { LawName } from "../../lib/laws/index.js";
import type { Micros, Settings, SettingsInput } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import type { DeviceAbout } from "../device.js";
import { generate } from "../stimuli/generated.js";
import { passagesOf, type Stimulus, untilOf } from "../stimuli/passage.js";
import { changed, type Scenario, settlingMicros, timesFor } from "../stimuli/scenario.js";
import { RECORDED_LOG, SCENARIOS } from "../stimuli/scenarios.js";
import type { Skipped } from "./report.js";
import { type Way, waysFor } from "./trial.js";

export interface PlanRequest {
  /** Names of scenarios; default all that can be played. */
  readonly scenarios?: readonly string[];
  /** Generated stimuli; default {@link defaultRuns}, none where scenarios are named. */
  readonly runs?: number;
  /** 1 to 2,147,483,647; default 1. */
  readonly seed?: number;
  /** Scenarios that must wait out a grace or a longest prime set it short, where the device can be given it. */
  readonly quick?: boolean;
  /** The events of a log, for `recorded-log`; without it that scenario is left out. */
  readonly log?: {
    readonly name: string;
    readonly events: readonly StimulusEvent[];
    readonly isGiven: boolean;
  };
  /** Nothing but this: a stimulus that was saved. */
  readonly replay?: { readonly name: string; readonly stimulus: Stimulus; readonly way?: Way | undefined };
}

/** Something to play: one scenario, a log, or all that is generated. */
export interface Planned {
  readonly name: string;
  readonly about: string;
  readonly shows: readonly LawName[];
  /** Names of the settings that it has of its own. */
  readonly own: readonly string[];
  /** The ways in which it is played; undefined is all of the device, and with power cuts and bounce put in. */
  readonly ways: readonly Way[] | undefined;
  /** How many stimuli. */
  readonly count: number;
  /** Device time of the plain runs, in µs. */
  readonly lengthMicros: Micros;
  runs(): Iterable<{ readonly settings: Settings; readonly stimulus: Stimulus }>;
}

export interface Plan {
  readonly stimuli: readonly Planned[];
  readonly skipped: readonly Skipped[];
}

/** 100 where time is virtual, 5 on a clock that runs by itself. */
export function defaultRuns({ clock }: Pick<DeviceAbout, "clock">): number {
  return clock === "virtual" ? 100 : 5;
}

/** Every name that `scenarios` may hold, with what it is. */
export const SCENARIO_NAMES: readonly { readonly name: string; readonly about: string }[] = [
  ...SCENARIOS,
  RECORDED_LOG,
];

export function plan(about: DeviceAbout, settings: Settings, request: PlanRequest): Plan {
  if (request.replay !== undefined) return { stimuli: [replayed(settings, request.replay)], skipped: [] };
  const stimuli: Planned[] = [];
  const skipped: Skipped[] = [];
  const isNamed = (name: string): boolean => request.scenarios?.includes(name) === true;
  for (const scenario of SCENARIOS) {
    if (request.scenarios !== undefined && !isNamed(scenario.name)) continue;
    const reason = reasonToSkip(scenario, about, isNamed(scenario.name));
    if (reason === undefined) stimuli.push(named(scenario, about, settings, request.quick === true));
    else skipped.push({ name: scenario.name, reason });
  }
  if (request.scenarios === undefined || isNamed(RECORDED_LOG.name))
    planLog(about, settings, request, stimuli, skipped);
  const runs = request.runs ?? (request.scenarios === undefined ? defaultRuns(about) : 0);
  if (runs > 0) stimuli.push(allDrawn(about, settings, request.seed ?? 1, runs));
  return { stimuli, skipped };
}

/** Device time of all runs, in µs: what it takes on a clock that runs by itself. */
export function plannedMicros({ stimuli }: Plan, about: DeviceAbout): Micros {
  const ways = waysFor(about);
  return stimuli.reduce((sum, { lengthMicros, ways: each }) => sum + lengthMicros * (each ?? ways).length, 0);
}

function takesOf({ takes }: DeviceAbout): (kind: StimulusEvent["kind"]) => boolean {
  // Contacts can be given as closures, and settings only if the device can be set.
  return (kind) => takes.has(kind) || (kind === "contact" && takes.has("close") && takes.has("open"));
}

function reasonToSkip(scenario: Scenario, about: DeviceAbout, isNamed: boolean): string | undefined {
  const takes = takesOf(about);
  const missing = scenario.needs.filter((kind) => !takes(kind));
  if (missing.length > 0) return `the device takes no ${missing.join(" and no ")}`;
  if (scenario.needs.includes("settings") && !about.settable.has("strokes"))
    return "the device cannot be given a ratio";
  // A fixture's clock is not the controller's, which goes on through what is fresh to the fixture.
  if (scenario.needsStart === true && about.role === "fixture")
    return "the clock of the controller behind it cannot be set";
  if (scenario.needsStart === true && !about.canStartAt) return "the device's clock cannot be set";
  if (scenario.virtualOnly === true && about.clock === "real" && !isNamed) {
    return "it takes hours on a clock that runs by itself; name it with --scenario to run it all the same";
  }
  return undefined;
}

function named(scenario: Scenario, about: DeviceAbout, settings: Settings, quick: boolean): Planned {
  const own = settableOf(about, scenario.own?.(settings, quick) ?? {});
  const inForce = changed(settings, own);
  const given = {
    settings: inForce,
    times: timesFor(inForce),
    tickMicros: about.tickMicros,
    takes: about.takes,
  };
  const stimuli = scenario.make(given).map((stimulus) => settled(stimulus, inForce, about));
  return {
    name: scenario.name,
    about: scenario.about,
    shows: scenario.shows,
    own: Object.keys(own),
    ways: scenario.plainOnly === true ? ["as it is"] : undefined,
    count: 1,
    lengthMicros: stimuli.reduce((sum, stimulus) => sum + untilOf(stimulus), 0),
    runs: () => stimuli.map((stimulus) => ({ settings: inForce, stimulus })),
  };
}

/** Behind a fixture nothing begins afresh: what one stimulus leaves owed must be fed or shed before the next. */
function settled(stimulus: Stimulus, settings: Settings, { role }: DeviceAbout): Stimulus {
  if (role !== "fixture") return stimulus;
  return { ...stimulus, tailMicros: Math.max(stimulus.tailMicros, settlingMicros(settings)) };
}

/** Of settings a scenario would have, those that the device can be given. */
function settableOf({ settable }: DeviceAbout, own: Partial<SettingsInput>): Partial<SettingsInput> {
  return Object.fromEntries(Object.entries(own).filter(([name]) => settable.has(name as keyof Settings)));
}

function planLog(
  about: DeviceAbout,
  settings: Settings,
  { log, scenarios }: PlanRequest,
  stimuli: Planned[],
  skipped: Skipped[],
): void {
  const { name, about: words } = RECORDED_LOG;
  const skip = (reason: string): void => void skipped.push({ name, reason });
  if (log === undefined) {
    skip("no log was given");
    return;
  }
  if (!log.isGiven && about.clock === "real" && scenarios === undefined) {
    skip("the invented day would take a day; give a log with --log");
    return;
  }
  const takes = takesOf(about);
  const missing = new Set(log.events.map(({ kind }) => kind).filter((kind) => !takes(kind)));
  if (missing.size > 0) {
    skip(`the device takes no ${[...missing].join(" and no ")}`);
    return;
  }
  const stimulus = { passages: passagesOf(log.events), tailMicros: settlingMicros(settings) };
  stimuli.push({
    ...single(name, words, settings, stimulus),
    shows: log.events.length > 0 ? ["totality"] : [],
  });
}

function replayed(settings: Settings, { name, stimulus, way }: NonNullable<PlanRequest["replay"]>): Planned {
  const ways: Way[] | undefined = way === undefined ? undefined : [way];
  return { ...single(name, "a stimulus that was saved", settings, stimulus), ways };
}

function single(name: string, about: string, settings: Settings, stimulus: Stimulus): Planned {
  return {
    name,
    about,
    shows: [],
    own: [],
    ways: undefined,
    count: 1,
    lengthMicros: untilOf(stimulus),
    runs: () => [{ settings, stimulus }],
  };
}

function allDrawn(about: DeviceAbout, settings: Settings, seed: number, runs: number): Planned {
  const draw = { settings, takes: takesOf(about), settable: about.settable, brief: about.clock === "real" };
  const made = generate(draw, seed, runs).map((drawn) => {
    const inForce = changed(settings, drawn.own);
    return { settings: inForce, stimulus: settled(drawn.make(inForce), inForce, about) };
  });
  return {
    name: "generated",
    about: `${runs} stimuli drawn at random from seed ${seed}`,
    shows: ["totality"],
    own: [],
    ways: undefined,
    count: runs,
    lengthMicros: made.reduce((sum, { stimulus }) => sum + untilOf(stimulus), 0),
    runs: () => made,
  };
}
