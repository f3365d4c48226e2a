/**
 * What is there to tell about a run? Watches a trace go by, once, in constant memory. Harness layer.
 */
import type { Alarm, Micros, Settings, ShedCause } from "../../lib/pacing/index.js";
import { SHED_CAUSES } from "../../lib/pacing/index.js";
import { isStimulus, type TraceEvent } from "../../lib/trace/index.js";
import { type Bins, newBins } from "./bins.js";
import { type CapTally, tallyCap } from "./cap-tally.js";
import { type DryStretch, tallyDry } from "./dry-tally.js";

export interface AlarmTally {
  readonly alarm: Alarm;
  /** How many times it was raised. */
  raised: number;
  readonly firstMicros: Micros;
  /** True if it still stood at the end. */
  standing: boolean;
}

/** Kinds of {@link Tally.bins}. */
export const CONTACTS = 0;
export const STROKES = 1;

/** The accounts of a run. Counts of contacts and strokes; times in µs. */
export interface Tally {
  /** Contacts that earned. */
  contacts: number;
  ignored: number;
  rejected: number;
  earned: number;
  paced: number;
  primed: number;
  readonly shed: { [cause in ShedCause]: number };
  owed: number;
  remainder: number;
  mostOwed: number;
  mostOwedMicros: Micros;
  /** Changes of settings that were refused. */
  refused: number;
  /** What the device itself failed at. */
  readonly faults: string[];
  readonly alarms: Map<Alarm, AlarmTally>;
  /** Time of the first and last event of the stimulus; undefined for an empty one. */
  firstMicros: Micros | undefined;
  lastMicros: Micros | undefined;
  readonly bins: Bins;
  readonly cap: CapTally;
  /** The longest stretch of water without a stroke; undefined if no water passed. */
  readonly dry: () => DryStretch | undefined;
}

/** Most faults of a device that are kept to be told. */
const FAULTS_MOST = 20;

/** Gathers a tally; `inForce` gives the settings at the moment, which a log may change. */
export function newTally(inForce: () => Settings): {
  readonly tally: Tally;
  readonly see: (event: TraceEvent) => void;
} {
  const cap = tallyCap();
  const dry = tallyDry();
  const tally: Tally = {
    contacts: 0,
    ignored: 0,
    rejected: 0,
    earned: 0,
    paced: 0,
    primed: 0,
    shed: Object.fromEntries(SHED_CAUSES.map((cause) => [cause, 0])) as Tally["shed"],
    owed: 0,
    remainder: 0,
    mostOwed: 0,
    mostOwedMicros: 0,
    refused: 0,
    faults: [],
    alarms: new Map(),
    firstMicros: undefined,
    lastMicros: undefined,
    bins: newBins(2),
    cap: cap.tally,
    dry: dry.longest,
  };
  const see = (event: TraceEvent): void => {
    if (isStimulus(event)) {
      if (event.kind === "wake") return;
      tally.firstMicros ??= event.atMicros;
      tally.lastMicros = event.atMicros;
      return;
    }
    switch (event.kind) {
      case "counted":
        tally.contacts += event.contacts;
        tally.earned += event.earned;
        waterPassed(event.atMicros, event.contacts);
        break;
      case "ignored":
        tally.ignored += event.contacts;
        waterPassed(event.atMicros, event.contacts);
        break;
      case "rejected":
        tally.rejected += event.contacts;
        break;
      case "paced":
      case "primed":
        tally[event.kind] += 1;
        tally.bins.add(STROKES, event.atMicros, 1);
        cap.stroke(event, inForce().leastSpacingMicros);
        dry.stroke(event.atMicros);
        break;
      case "shed":
        tally.shed[event.cause] += event.strokes;
        break;
      case "refused":
        tally.refused += 1;
        break;
      case "alarm-on":
        raise(tally, event.alarm, event.atMicros);
        break;
      case "alarm-off":
        lower(tally, event.alarm);
        break;
      case "status":
        tally.owed = event.owed;
        tally.remainder = event.remainder;
        if (event.owed > tally.mostOwed) {
          tally.mostOwed = event.owed;
          tally.mostOwedMicros = event.atMicros;
        }
        break;
      case "fault":
        if (tally.faults.length < FAULTS_MOST) tally.faults.push(event.message);
        break;
    }
  };
  const waterPassed = (atMicros: Micros, contacts: number): void => {
    tally.bins.add(CONTACTS, atMicros, contacts);
    dry.water(atMicros, contacts);
  };
  return { tally, see };
}

function raise(tally: Tally, alarm: Alarm, atMicros: Micros): void {
  const known = tally.alarms.get(alarm);
  if (known === undefined)
    tally.alarms.set(alarm, { alarm, raised: 1, firstMicros: atMicros, standing: true });
  else {
    known.raised += 1;
    known.standing = true;
  }
}

function lower(tally: Tally, alarm: Alarm): void {
  const known = tally.alarms.get(alarm);
  if (known !== undefined) known.standing = false;
}
