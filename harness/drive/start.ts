/**
 * How does a feed begin? Ends opened and started, the journal gone on from, settings put in force. Harness layer.
 *
 * No stroke is asked for before the run stands in the journal. What fails leaves nothing open.
 */
import { INHIBIT_CAUSES, type Settings, type State, step } from "../../lib/pacing/index.js";
import type { FieldFault, Meter, MeterEvent, Pump } from "../field/field.js";
import { InputError } from "../files/fault.js";
import { showSettings } from "../files/settings.js";
import { settingsText } from "../journal/record.js";
import type { Journal } from "../journal/store.js";
import type { DriveClock } from "./clock.js";
import { Feed, type FeedParts } from "./feed.js";
import { type Restart, restart } from "./restart.js";

export interface StartParts extends Pick<FeedParts, "dose" | "onChange" | "onEvents" | "onTrouble"> {
  readonly meter: Meter;
  readonly pump: Pump;
  readonly journal: Journal;
  readonly clock: DriveClock;
  readonly settings: Settings;
  /** A person has confirmed an increase of the feed against the journal's settings. */
  readonly confirmed: boolean;
  /** The text of the plan file, and what the record names beside it. */
  readonly plan: string | undefined;
  readonly zone: string;
  readonly version: string;
}

/**
 * Starts a feed. Rejects with a FieldError where an end fails, with a JournalError where the journal does, with an
 * InputError where the settings are refused; then ends and journal are closed.
 */
export async function startFeed(parts: StartParts): Promise<Feed> {
  const { meter, pump, journal } = parts;
  const early: ((feed: Feed) => void)[] = [];
  let feed: Feed | undefined;
  const soon = (act: (feed: Feed) => void): void => {
    if (feed === undefined) early.push(act);
    else act(feed);
  };
  const lost = (end: "meter" | "pump") => (fault: FieldFault) => {
    soon((live) => {
      live.lose(end, fault);
    });
  };
  try {
    await pump.start({ lost: lost("pump") });
    const pumpLast = await pump.lastStroke();
    await meter.start({
      hear: (event: MeterEvent) => {
        soon((live) => {
          live.hear(event);
        });
      },
      lost: lost("meter"),
    });
    const begun = begin(parts, pumpLast);
    for (const act of early) act(begun);
    feed = begun;
    return begun;
  } catch (error) {
    journal.close();
    await Promise.all([meter.close(), pump.close()]);
    throw error;
  }
}

function begin(parts: StartParts, pumpLast: number | undefined): Feed {
  const { meter, pump, journal, clock } = parts;
  const settings = settingsFor(meter, parts.settings);
  const { kept, lost, folder } = journal;
  // Of another meter, which kept none, its contacts would be counted twice.
  const register = meter.keepsRegister ? kept?.register : undefined;
  const isOther = register !== undefined && kept?.meter !== meter.about.spec;
  const found = restart({ folder, kept, lost, settings, boot: clock.boot(), pumpLast });
  const from = isOther ? ofOtherMeter(found, kept?.meter ?? "", meter.about.spec) : found;
  const isChange = settingsText(from.state.settings) !== settingsText(settings);
  if (isChange && !parts.confirmed) refuseIncrease(from.state, settings);
  journal.begin(
    {
      meter: meter.about.spec,
      pump: pump.about.spec,
      settings: showSettings(settings),
      plan: parts.plan,
      zone: parts.zone,
      version: parts.version,
      darkMicros: from.darkMicros,
      resolved: from.resolved,
    },
    {
      events: from.events,
      state: from.state,
      register,
      number: from.number,
      unmade: undefined,
      uncertain: from.uncertain,
    },
  );
  parts.onEvents(from.events);
  const feed = new Feed({ ...parts, from, register });
  // What stopped the last run is over, now that both ends have started. A hold or a trip is a person's to end.
  INHIBIT_CAUSES.filter((_, i) => (from.state.inhibits & (1 << i)) !== 0).forEach((cause) => {
    feed.give({ kind: "inhibit-off", cause });
  });
  if (isChange) feed.give({ kind: "settings", settings, confirmed: parts.confirmed });
  return feed;
}

/** It may be the same at another port: then its contacts count. But nothing is fed for water that may never have passed. */
function ofOtherMeter(from: Restart, before: string, now: string): Restart {
  const words =
    `The journal's meter was ${before}, this one is ${now}. What its register went on by is counted, and what that ` +
    "earned is shed. If it is not the same meter, begin a new journal.";
  return { ...from, unheardMicros: undefined, troubles: [...from.troubles, { kind: "register-odd", words }] };
}

/** Contacts that a meter has counted are told together, and none of them came too fast. */
export function settingsFor({ keepsRegister }: Pick<Meter, "keepsRegister">, settings: Settings): Settings {
  return keepsRegister ? Object.freeze({ ...settings, leastContactMicros: 0 }) : settings;
}

function refuseIncrease(state: State, settings: Settings): void {
  const tried = step(state, { kind: "settings", atMicros: state.nowMicros, settings, confirmed: false });
  if (tried.state.refused === state.refused) return;
  const { strokes, contacts } = state.settings;
  throw new InputError([
    {
      field: "--ratio",
      fault:
        `is ${settings.strokes}:${settings.contacts} where the journal has ${strokes}:${contacts}: ` +
        `more than ${state.settings.largestIncrease} times the feed`,
      mend: "check it; if it is meant, add --confirm, or begin a new journal",
    },
  ]);
}
