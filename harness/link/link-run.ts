/**
 * How is one job played over a session? The part that a stepped and a free clock share. Harness layer.
 *
 * An input counts as done when the device says so, with its number and its time; inputs are done in the order in which
 * they were asked for, and one that is passed over is a fault.
 */
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { StimulusEvent } from "../../lib/trace/index.js";
import type { Job } from "../device.js";
import { DeviceTime } from "./device-time.js";
import { StrokeCauses } from "./fixture.js";
import type { Greeting } from "./greeting.js";
import { LinkFault } from "./link-fault.js";
import type { LinkInput } from "./message.js";
import type { Report, Session } from "./session.js";
import { SETTING_NAMES } from "./setting-names.js";

/** What the device has been told to have ready for the next `begin` or change, since its last greeting. */
export type Staged = Map<string, string>;

interface Asked {
  readonly number: number;
  readonly event: StimulusEvent;
}

export class LinkRun {
  readonly time: DeviceTime;
  /** Inputs that were asked for and not done yet. */
  readonly asked: Asked[] = [];
  private next = 0;
  private readonly causes: StrokeCauses;

  constructor(
    readonly session: Session,
    readonly greeting: Greeting,
    private readonly job: Job,
    private readonly stimulus: readonly StimulusEvent[],
    private readonly staged: Staged,
    private readonly options: {
      readonly startTicks: number;
      readonly leadMicros: Micros;
      readonly toleranceMicros: Micros;
    },
  ) {
    this.time = new DeviceTime(greeting, options.startTicks);
    this.causes = new StrokeCauses(job.settings, options.toleranceMicros);
    session.listen((report) => {
      this.take(report);
    });
  }

  get untilMicros(): Micros {
    return this.job.untilMicros + this.options.leadMicros;
  }

  /** When the next input is to act, or undefined after the last. */
  get nextMicros(): Micros | undefined {
    const event = this.stimulus[this.next];
    return event === undefined ? undefined : this.momentOf(event);
  }

  /** Asks for as many inputs as the queue has room for, up to a moment. */
  async fill(mostMicros: Micros): Promise<void> {
    for (;;) {
      const event = this.stimulus[this.next];
      const atMicros = this.nextMicros;
      if (event === undefined || atMicros === undefined || atMicros > mostMicros) return;
      if (this.asked.length >= this.greeting.queue) return;
      if (event.kind === "settings") {
        // What is staged comes into force as it is at that moment, so one change waits for the one before.
        if (this.asked.some((each) => each.event.kind === "settings")) return;
        await stage(this.session, this.greeting, this.staged, event.settings);
      }
      this.next += 1;
      const ticks = this.time.rawAt(atMicros);
      await this.session.post({ verb: "at", ticks, input: inputOf(event) }, (number) => {
        this.asked.push({ number, event });
      });
    }
  }

  /** When an input is to act. */
  momentOf(event: StimulusEvent): Micros {
    return event.atMicros + this.options.leadMicros;
  }

  /** Stepped: lets time go on to a moment. */
  async go(micros: Micros): Promise<void> {
    const ticks = this.time.rawAt(micros);
    const reached = await this.session.ask({ verb: "go", ticks });
    if (reached !== ticks) {
      throw new LinkFault("nonsense", `it was to go to ${ticks} and answered ${reached ?? "nothing"}`);
    }
    this.time.read(ticks);
    const undone = this.asked[0];
    if (undone !== undefined && this.momentOf(undone.event) <= micros) {
      throw new LinkFault("nonsense", `request ${undone.number} was accepted and not done at its time`);
    }
  }

  /** Free: the device's time. */
  async askTime(): Promise<Micros> {
    const ticks = await this.session.ask({ verb: "time" });
    if (ticks === undefined) throw new LinkFault("nonsense", "`time` was answered without the counter");
    // A report that was stamped later may have overtaken the answer.
    return this.time.near(ticks);
  }

  /** Throws a LinkFault if anything that was asked for was not done. */
  finish(): void {
    const undone = this.asked[0];
    if (undone === undefined) return;
    throw new LinkFault("nonsense", `request ${undone.number} was accepted and never done`);
  }

  private take({ ticks, event: reported }: Report): void {
    const atMicros = this.time.read(ticks);
    if (reported.kind === "did") this.did(reported.number, atMicros);
    else if (reported.kind === "stroke") this.job.sink({ kind: this.causes.causeAt(atMicros), atMicros });
    else this.job.sink({ ...reported, atMicros });
    if (reported.kind === "fault") throw new LinkFault("failed", `it says: ${reported.message}`);
  }

  private did(number: number | undefined, atMicros: Micros): void {
    const asked = this.asked.shift();
    if (asked === undefined || asked.number !== number) {
      const due = asked === undefined ? "nothing" : `request ${asked.number}`;
      throw new LinkFault("nonsense", `it did request ${number ?? "-"} where ${due} was due`);
    }
    const done = { ...asked.event, atMicros };
    this.causes.did(done);
    this.job.sink(done);
  }
}

/** Gives the device those settings that it can be given and does not have yet. */
export async function stage(
  session: Session,
  { about }: Greeting,
  staged: Staged,
  settings: Settings,
): Promise<void> {
  for (const name of SETTING_NAMES) {
    const value = String(settings[name]);
    if (!about.settable.has(name) || staged.get(name) === value) continue;
    await session.ask({ verb: "set", name, value });
    staged.set(name, value);
  }
}

function inputOf(event: StimulusEvent): LinkInput {
  switch (event.kind) {
    case "settings":
      return { kind: "settings", confirmed: event.confirmed };
    case "inhibit-on":
    case "inhibit-off":
      return { kind: event.kind, cause: event.cause };
    case "power-on":
      return { kind: event.kind, darkKnown: event.darkKnown };
    case "wake":
    case "close":
    case "open":
    case "contact":
    case "prime-on":
    case "prime-off":
    case "hold-on":
    case "hold-off":
    case "reset":
    case "power-off":
      return { kind: event.kind };
  }
}
