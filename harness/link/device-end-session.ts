/**
 * What do requests do at the device? Runs, queue and time, of LINK.md, sections 2, 6 and 7.
 *
 * Harness layer. The counter is read once for each request, so that what comes of it is told in the order of time.
 * Without a run nothing strokes.
 */
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { StartRun } from "../device.js";
import { DeviceCounter } from "./device-end-counter.js";
import { type DeviceProfile, greetingOf } from "./device-end-profile.js";
import { DeviceReports } from "./device-end-reports.js";
import { type Asked, DeviceRun } from "./device-end-run.js";
import { StagedSettings } from "./device-end-settings.js";
import type {
  DeviceLine,
  LinkInput,
  NumberedRequest,
  Reason,
  Reported,
  Request,
  RequestNumber,
  Ticks,
} from "./message.js";
import type { BenchClock } from "./transport.js";

/** Done, with a value or not; or not done. */
type Outcome = { readonly value?: number } | { readonly reason: Reason; readonly words?: string };

const DONE: Outcome = {};
/** How often a run on a free clock is looked after; its strokes bear their own times. */
const LOOK_MICROS: Micros = 2_000;
/** A run on a free clock ends after so long without a line. */
const IDLE_MICROS: Micros = 10_000_000;

export class DeviceSession {
  private readonly counter: DeviceCounter;
  private readonly reports: DeviceReports;
  private readonly staged: StagedSettings;
  private run: DeviceRun | undefined;
  private isStepped = false;
  private queue: Asked[] = [];
  private lagTicks = 0;
  private heardMicros: Micros = 0;
  private cancelLook: () => void = () => undefined;

  constructor(
    private readonly start: StartRun,
    private readonly profile: DeviceProfile,
    sendText: (text: string) => void,
    private readonly clock: BenchClock | undefined,
  ) {
    this.counter = new DeviceCounter(profile, clock);
    this.reports = new DeviceReports(profile.keep, sendText);
    this.staged = new StagedSettings(profile);
  }

  answer({ number, request }: NumberedRequest): DeviceLine {
    const now = this.counter.read();
    if (this.run !== undefined && !this.isStepped) this.advance(now);
    const outcome = this.act(request, number, now);
    if ("reason" in outcome)
      return { kind: "no", number, reason: outcome.reason, words: outcome.words ?? "" };
    return { kind: "ok", number, lastReport: this.reports.last, ...outcome };
  }

  /** A line has come, whatever it holds. */
  heard(): void {
    this.heardMicros = this.clock?.nowMicros() ?? 0;
  }

  /** Without a run nothing strokes, and no clock is asked to call. */
  endRun(): void {
    this.cancelLook();
    if (this.run !== undefined) this.counter.runFrom(this.counter.read());
    this.run = undefined;
    this.queue = [];
  }

  private act(request: Request, number: RequestNumber, now: number): Outcome {
    switch (request.verb) {
      case "hello":
        return this.hello(request.nonce);
      case "set":
        return doneUnless(this.staged.set(request.name, request.value));
      case "clock":
        return this.setClock(request.ticks);
      case "lag":
        return this.setLag(request.ticks);
      case "begin":
        return this.begin(request.clock, now);
      case "at":
        return this.at(request.ticks, request.input, number, now);
      case "do":
        return this.doAtOnce(request.input, number, now);
      case "go":
        return this.go(request.ticks, now);
      case "time":
        return { value: this.counter.rawOf(now) };
      case "tell":
        return this.tellStatus(now);
      case "again":
        return doneUnless(this.reports.again(request.report) ? undefined : "value");
      case "end":
      case "bye":
        this.endRun();
        return DONE;
    }
  }

  private hello(nonce: number): Outcome {
    this.endRun();
    this.staged.forget();
    this.lagTicks = 0;
    this.reports.forget();
    for (const { what, words } of greetingOf(this.profile)) {
      this.reports.send((report) => ({ kind: "is", report, what, words }));
    }
    return { value: nonce };
  }

  private setClock(ticks: Ticks): Outcome {
    if (!this.profile.clock.includes("settable")) return { reason: "word" };
    if (this.run !== undefined) return { reason: "state" };
    if (!this.counter.has(ticks)) return { reason: "value" };
    this.counter.runFrom(ticks);
    return DONE;
  }

  private setLag(ticks: number): Outcome {
    if (!this.profile.clock.includes("lag")) return { reason: "word" };
    if (!this.counter.isShort(ticks)) return { reason: "value" };
    this.lagTicks = ticks;
    return DONE;
  }

  private begin(kind: "stepped" | "free", now: number): Outcome {
    const { clock, profile, start, lagTicks } = this;
    if (!profile.clock.includes(kind) || (kind === "free" && clock === undefined)) return { reason: "value" };
    const sound = this.soundSettings();
    if ("reason" in sound) return sound;
    this.endRun();
    this.reports.forget();
    this.isStepped = kind === "stepped";
    const startTicks = this.counter.rawOf(now);
    if (this.isStepped) this.counter.standAt(startTicks);
    else this.counter.runFrom(startTicks);
    const report = (ticks: number, event: Reported): void => {
      this.report(ticks, event);
    };
    this.run = new DeviceRun({ start, profile, settings: sound.settings, startTicks, lagTicks, report });
    if (!this.isStepped) this.lookLater();
    return { value: startTicks };
  }

  private at(raw: Ticks, input: LinkInput, number: RequestNumber, now: number): Outcome {
    const refusal = this.refusalOf(input);
    if (refusal !== undefined) return refusal;
    const atTicks = this.countOf(raw, now);
    if (typeof atTicks !== "number") return atTicks;
    if (atTicks < (this.queue.at(-1)?.atTicks ?? 0)) return { reason: "value" };
    if (this.queue.length >= this.profile.queue) return { reason: "full" };
    this.queue.push({ atTicks, input, number });
    return DONE;
  }

  private doAtOnce(input: LinkInput, number: RequestNumber, now: number): Outcome {
    const refusal = this.refusalOf(input);
    if (refusal !== undefined) return refusal;
    this.advance(now);
    this.actInput({ atTicks: now, input, number });
    return DONE;
  }

  /** Why an input cannot be done, whenever that would be. */
  private refusalOf(input: LinkInput): Outcome | undefined {
    if (!this.profile.takes.includes(input.kind)) return { reason: "word" };
    if (this.run === undefined) return { reason: "state" };
    const sound = input.kind === "settings" ? this.soundSettings() : undefined;
    return sound !== undefined && "reason" in sound ? sound : undefined;
  }

  private go(raw: Ticks, now: number): Outcome {
    if (this.run === undefined || !this.isStepped) return { reason: "state" };
    const until = this.countOf(raw, now);
    if (typeof until !== "number") return until;
    this.advance(until);
    this.counter.standAt(until);
    return { value: raw };
  }

  private tellStatus(now: number): Outcome {
    if (!this.profile.tells.includes("status")) return { reason: "word" };
    if (this.run === undefined) return { reason: "state" };
    this.run.tellStatus(now);
    return DONE;
  }

  /** Lets the run go on to a moment, and does on the way what is queued. */
  private advance(ticks: number): void {
    for (;;) {
      const due = this.queue[0];
      if (due === undefined || due.atTicks > ticks) break;
      this.queue.shift();
      this.actInput(due);
    }
    this.run?.goTo(ticks);
  }

  private actInput(asked: Asked): void {
    if (asked.input.kind !== "settings") {
      this.run?.act(asked, undefined);
      return;
    }
    const sound = this.staged.sound();
    if ("settings" in sound) this.run?.act(asked, sound.settings);
    else this.run?.fail(asked.atTicks, `${sound.unsound} was staged so that it cannot come into force`);
  }

  private lookLater(): void {
    this.cancelLook =
      this.clock?.after(LOOK_MICROS, () => {
        this.look();
      }) ?? this.cancelLook;
  }

  private look(): void {
    const now = this.counter.read();
    this.advance(now);
    if (this.clock !== undefined && this.clock.nowMicros() - this.heardMicros >= IDLE_MICROS) {
      this.report(now, { kind: "fault", message: "no line has come for 10 s" });
      this.endRun();
    } else this.lookLater();
  }

  private report(ticks: number, event: Reported): void {
    const raw = this.counter.rawOf(ticks);
    this.reports.send((report) => ({ kind: "report", report, ticks: raw, event }));
  }

  private countOf(raw: Ticks, now: number): number | Outcome {
    const count = this.counter.countOf(raw, now);
    if (typeof count === "number") return count;
    return count === "late" ? { reason: count, words: `${this.counter.rawOf(now)}` } : { reason: count };
  }

  private soundSettings():
    { readonly settings: Settings } | { readonly reason: Reason; readonly words: string } {
    const sound = this.staged.sound();
    return "settings" in sound ? sound : { reason: "settings", words: sound.unsound };
  }
}

function doneUnless(reason: Reason | undefined): Outcome {
  return reason === undefined ? DONE : { reason };
}
