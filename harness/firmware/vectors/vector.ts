/**
 * What does the core do in a run, step by step, as text? One golden vector. Harness layer.
 *
 * A vector is a trace in the project's own format: every input and wake-up in its row, below it what came of it, then
 * the accounts as a `status` row. What a trace cannot carry stands in comments: before the header what it shows, the
 * laws, the start and the settings; after each step a line `#=` of the fields of the record that changed.
 */
import {
  copyState,
  DARK_UNKNOWN,
  type Effect,
  effectsBetween,
  type Input,
  newState,
  NO_WAKE,
  restoreSnapshot,
  type Settings,
  type SettingsInput,
  type State,
  stepInPlace,
  takeSnapshot,
  validateSettings,
} from "../../../lib/pacing/index.js";
import { isFault, readDetail } from "../../../lib/trace/detail.js";
import {
  accountsOf,
  detailOf,
  formatRow,
  formatSeconds,
  parseSeconds,
  type StimulusEvent,
  TRACE_HEADER,
  type TraceEvent,
} from "../../../lib/trace/index.js";
import type { Play } from "./play.js";

/** What lib/pacing keeps in place of "never yet", and of "no wake-up needed". */
const LONG_AGO = newState(sound({ strokes: 1, contacts: 1, leastSpacingMicros: 1 })).strokeMicros;

/** Fields that the rows tell already, and the settings, which are no number. */
const UNTOLD: ReadonlySet<string> = new Set(["settings", "raised", "cleared"]);

/** The text of a vector. */
export function vectorOf(play: Play): string {
  const settings = sound(play.settings);
  const startMicros = play.startMicros ?? 0;
  const lines = [
    ...play.shows.map((line) => `# ${line}`),
    `# laws ${play.laws.join(" ")}`,
    ...(play.latenessMicros ? [`# wake-ups come ${formatSeconds(play.latenessMicros)} s late`] : []),
    `# start ${formatSeconds(startMicros)}`,
    `# settings ${settingsDetail(settings)}`,
    TRACE_HEADER,
  ];
  let state = newState(settings, startMicros);
  let told: Partial<State> = {};
  let dark: { readonly bytes: Uint8Array; readonly sinceMicros: number } | undefined;

  const tellRecord = (more = ""): void => {
    const changes = Object.entries(state).filter(
      ([name, value]) => !UNTOLD.has(name) && value !== told[name as keyof State],
    );
    told = copyState(state);
    lines.push(
      `#= ${changes.map(([name, value]) => `${name}=${shown(value as number)}`).join(" ")}${more}`.trimEnd(),
    );
  };
  const tell = (event: TraceEvent, effects: readonly Effect[], more = ""): void => {
    lines.push(formatRow(event), ...effects.map(formatRow), formatRow(accountsOf(state)));
    tellRecord(more);
  };
  const give = (input: Input): void => {
    const before = copyState(state);
    stepInPlace(state, input);
    tell(input, effectsBetween(before, state));
  };
  const wakeUntil = (untilMicros: number): void => {
    if (dark !== undefined) return;
    for (;;) {
      const atMicros = state.wakeAtMicros + (play.latenessMicros ?? 0);
      if (state.wakeAtMicros === NO_WAKE || atMicros > untilMicros) return;
      give({ kind: "wake", atMicros });
    }
  };
  const switchOff = (event: StimulusEvent): void => {
    const before = copyState(state);
    stepInPlace(state, { kind: "wake", atMicros: event.atMicros });
    const bytes = takeSnapshot(state);
    dark = { bytes, sinceMicros: event.atMicros };
    tell(event, effectsBetween(before, state), ` snapshot=${Buffer.from(bytes).toString("hex")}`);
  };
  const switchOn = (event: StimulusEvent & { kind: "power-on" }): void => {
    if (dark === undefined) throw new Error(`${play.name}: power-on without power-off`);
    const darkMicros = event.darkKnown ? event.atMicros - dark.sinceMicros : DARK_UNKNOWN;
    const restored = restoreSnapshot(state.settings, dark.bytes, event.atMicros, darkMicros);
    if (!restored.ok) throw new Error(`${play.name}: ${restored.refusal}`);
    dark = undefined;
    state = restored.state;
    tell(event, restored.effects);
  };

  tellRecord();
  for (const event of eventsOf(play, startMicros)) {
    wakeUntil(event.atMicros);
    if (event.kind === "power-off") switchOff(event);
    else if (event.kind === "power-on") switchOn(event);
    else give(event);
  }
  wakeUntil(startMicros + play.until * 1_000_000);
  return lines.join("\n") + "\n";
}

function shown(value: number): string {
  return value === NO_WAKE ? "no-wake" : value === LONG_AGO ? "long-ago" : String(value);
}

function eventsOf(play: Play, startMicros: number): StimulusEvent[] {
  return play.events.map((text) => {
    const [seconds = "", kind = "", ...detail] = text.split(" ");
    const micros = parseSeconds(seconds);
    if (micros === undefined) throw new Error(`${play.name}: no time in "${text}"`);
    const whole = kind === "settings" ? settingsIn(play.settings, detail) : detail.join(" ");
    const event = readDetail(kind as StimulusEvent["kind"], startMicros + micros, whole);
    if (isFault(event)) throw new Error(`${play.name}: "${text}": ${event.fault}`);
    return event as StimulusEvent;
  });
}

function settingsIn(from: SettingsInput, changes: readonly string[]): string {
  const pairs = changes.filter((word) => word !== "confirmed").map((word) => word.split("="));
  const input = Object.fromEntries(
    pairs.map(([name = "", value = ""]) => [name, /^\d+$/.test(value) ? Number(value) : value]),
  );
  const confirmed = changes.includes("confirmed") ? " confirmed" : "";
  return settingsDetail(sound({ ...from, ...input })) + confirmed;
}

function settingsDetail(settings: Settings): string {
  return detailOf({ kind: "settings", atMicros: 0, settings, confirmed: false });
}

function sound(input: SettingsInput): Settings {
  const verdict = validateSettings(input);
  if (!verdict.ok) throw new Error(JSON.stringify(verdict.faults));
  return verdict.settings;
}
