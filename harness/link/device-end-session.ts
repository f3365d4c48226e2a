/**
 * What do requests do at the device? Clock, queue, settings, runs and reports, of LINK.md, sections 2, 3 and 5 to 7.
 *
 * Harness layer. Counter readings are unwrapped inside and wrapped on the line. Without a run nothing strokes.
 */
import { type Settings, type SettingsInput, validateSettings } from "../../lib/pacing/index.js";
import type { StartRun } from "../devices/device.js";
import { type DeviceProfile, greetingOf } from "./device-end-profile.js";
import { type Asked, type DeviceRun, newDeviceRun, tickScale } from "./device-end-run.js";
import {
  type DeviceLine,
  formatDeviceLine,
  type LinkInput,
  NUMBER_MOST,
  type NumberedRequest,
  type Reason,
  type Reported,
  type RequestNumber,
} from "./message.js";
import type { BenchClock } from "./transport.js";

export interface DeviceSession {
  answer(request: NumberedRequest): DeviceLine;
  /** A line has come, whatever it holds. */
  heard(): void;
  readonly close: () => void;
}

/** Done, with a value or not; or not done. */
type Outcome = { readonly value?: number } | { readonly reason: Reason; readonly words?: string };

const DONE: Outcome = {};
/** How often a run on a free clock is looked after; its strokes bear their own times. */
const LOOK_MICROS = 2_000;
/** A run on a free clock ends after so long without a line. */
const IDLE_MICROS = 10_000_000;

export function newDeviceSession(
  start: StartRun,
  profile: DeviceProfile,
  sendText: (text: string) => void,
  clock: BenchClock | undefined,
): DeviceSession {
  const range = 2 ** profile.width;
  const scale = tickScale(profile.ticksPerSecond);
  let counter = 0;
  // While the counter runs freely: when it was at `counter`, on the bench's clock.
  let sinceMicros = clock?.nowMicros();
  let heardMicros = 0;
  let run: DeviceRun | undefined;
  let isStepped = false;
  let cancelLook: (() => void) | undefined;
  let staged: { [name: string]: number | string } = {};
  let lagTicks = 0;
  let queue: Asked[] = [];
  let lastReport = 0;
  let kept: string[] = [];

  const now = (): number =>
    clock === undefined || sinceMicros === undefined
      ? counter
      : counter + scale.ticksOf(clock.nowMicros() - sinceMicros);
  const setCounter = (ticks: number, runs: boolean): void => {
    counter = ticks;
    sinceMicros = runs ? clock?.nowMicros() : undefined;
  };
  const sendReport = (make: (report: number) => DeviceLine): void => {
    lastReport = (lastReport % NUMBER_MOST) + 1;
    const text = formatDeviceLine(make(lastReport));
    if (profile.keep > 0) kept.push(text);
    if (kept.length > 2 * profile.keep) kept = kept.slice(-profile.keep);
    sendText(text);
  };
  const report = (ticks: number, event: Reported): void => {
    sendReport((number) => ({ kind: "report", report: number, ticks: ticks % range, event }));
  };
  const forgetReports = (): void => {
    lastReport = 0;
    kept = [];
  };
  const endRun = (): void => {
    setCounter(now(), true);
    cancelLook?.();
    cancelLook = undefined;
    run = undefined;
    queue = [];
  };
  const advance = (ticks: number): void => {
    let due = queue[0];
    while (due !== undefined && due.atTicks <= ticks) {
      queue.shift();
      run?.act(due);
      due = queue[0];
    }
    run?.goTo(ticks);
  };
  const look = (): void => {
    if (clock === undefined || run === undefined) return;
    advance(now());
    if (clock.nowMicros() - heardMicros >= IDLE_MICROS) {
      report(now(), { kind: "fault", message: "no line has come for 10 s" });
      endRun();
    } else cancelLook = clock.after(LOOK_MICROS, look);
  };
  /** The unwrapped time that a reading stands for, or why there is none. */
  const timeOf = (ticks: number): number | Outcome => {
    if (ticks >= range) return { reason: "value" };
    const from = now();
    const ahead = (ticks - (from % range) + range) % range;
    if (ahead < range / 2) return from + ahead;
    return ahead > (3 * range) / 4 ? { reason: "late", words: `${from % range}` } : { reason: "far" };
  };
  const soundSettings = (): Settings | Outcome => {
    const verdict = validateSettings({ ...profile.madeByHand, ...staged } as unknown as SettingsInput);
    return verdict.ok ? verdict.settings : { reason: "settings", words: verdict.faults[0]?.setting ?? "" };
  };
  const begin = (kind: "stepped" | "free"): Outcome => {
    if (!profile.clock.includes(kind) || (kind === "free" && clock === undefined)) return { reason: "value" };
    if (run !== undefined) return { reason: "state" };
    const settings = soundSettings();
    if (!("strokes" in settings)) return settings;
    forgetReports();
    isStepped = kind === "stepped";
    setCounter(now() % range, !isStepped);
    run = newDeviceRun({ start, profile, settings, startTicks: counter, lagTicks, report });
    if (!isStepped && clock !== undefined) cancelLook = clock.after(LOOK_MICROS, look);
    return { value: counter };
  };
  const ask = (input: LinkInput, number: RequestNumber, ticks?: number): Outcome => {
    if (!profile.takes.includes(input.kind)) return { reason: "word" };
    if (run === undefined) return { reason: "state" };
    const atTicks = ticks === undefined ? now() : timeOf(ticks);
    if (typeof atTicks !== "number") return atTicks;
    if (atTicks < (ticks === undefined ? 0 : (queue.at(-1)?.atTicks ?? 0))) return { reason: "value" };
    if (ticks !== undefined && queue.length >= profile.queue) return { reason: "full" };
    const settings = input.kind === "settings" ? soundSettings() : undefined;
    if (settings !== undefined && !("strokes" in settings)) return settings;
    const asked = { atTicks, input, settings, number };
    if (ticks !== undefined) queue.push(asked);
    else {
      advance(atTicks);
      run.act(asked);
    }
    return DONE;
  };
  const go = (ticks: number): Outcome => {
    if (run === undefined || !isStepped) return { reason: "state" };
    const until = timeOf(ticks);
    if (typeof until !== "number") return until;
    advance(until);
    counter = until;
    return { value: ticks };
  };
  const set = (name: string, value: string): Outcome => {
    if (!profile.settable.some((known) => known === name)) return { reason: "word" };
    const given = /^(?:0|[1-9]\d{0,15})$/.test(value) ? Number(value) : value;
    if (!isSoundAlone(name, given)) return { reason: "value" };
    staged[name] = given;
    return DONE;
  };
  const again = (first: number): Outcome => {
    const back = (lastReport - first + NUMBER_MOST) % NUMBER_MOST;
    const most = Math.min(kept.length, profile.keep);
    if (lastReport === 0 || back >= most) return { reason: "value" };
    for (const text of kept.slice(-back - 1)) sendText(text);
    return DONE;
  };
  const hello = (nonce: number): Outcome => {
    endRun();
    staged = {};
    lagTicks = 0;
    forgetReports();
    for (const { what, words } of greetingOf(profile)) {
      sendReport((number) => ({ kind: "is", report: number, what, words }));
    }
    return { value: nonce };
  };
  const act = ({ number, request }: NumberedRequest): Outcome => {
    switch (request.verb) {
      case "hello":
        return hello(request.nonce);
      case "set":
        return set(request.name, request.value);
      case "clock":
        if (!profile.clock.includes("settable")) return { reason: "word" };
        if (run !== undefined) return { reason: "state" };
        if (request.ticks >= range) return { reason: "value" };
        setCounter(request.ticks, true);
        return DONE;
      case "lag":
        if (!profile.clock.includes("lag")) return { reason: "word" };
        if (request.ticks >= range / 2) return { reason: "value" };
        lagTicks = request.ticks;
        return DONE;
      case "begin":
        return begin(request.clock);
      case "at":
        return ask(request.input, number, request.ticks);
      case "do":
        return ask(request.input, number);
      case "go":
        return go(request.ticks);
      case "time":
        return { value: now() % range };
      case "tell":
        if (!profile.tells.includes("status")) return { reason: "word" };
        if (run === undefined) return { reason: "state" };
        run.tellStatus(now());
        return DONE;
      case "again":
        return again(request.report);
      case "end":
      case "bye":
        endRun();
        return DONE;
    }
  };

  return {
    answer(asked) {
      if (run !== undefined && !isStepped) advance(now());
      const outcome = act(asked);
      const { number } = asked;
      if ("reason" in outcome) {
        return { kind: "no", number, reason: outcome.reason, words: outcome.words ?? "" };
      }
      return { kind: "ok", number, lastReport, ...outcome };
    },
    heard() {
      heardMicros = clock?.nowMicros() ?? 0;
    },
    close: endRun,
  };
}

/** Whether a value of a setting is within its range, whatever the others are. */
function isSoundAlone(name: string, value: number | string): boolean {
  // With another value that cannot be, relations between settings are not looked at.
  const spoilt = name === "strokes" ? { contacts: 0 } : { strokes: 0 };
  const verdict = validateSettings({ ...spoilt, [name]: value } as unknown as SettingsInput);
  return !verdict.ok && verdict.faults.every(({ setting }) => setting !== name);
}
