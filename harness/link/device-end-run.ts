/**
 * How does a run in microseconds look in the ticks of a device's counter? Harness layer.
 *
 * Wakes the run on whole ticks, late as told, hands it its inputs, and turns what it tells into reports. Ticks are
 * unwrapped here. A run that throws has failed, which is told and ends it.
 */
import type { Micros, Settings } from "../../lib/pacing/index.js";
import { isStimulus, type StimulusEvent, type TraceEvent } from "../../lib/trace/index.js";
import type { Run, StartRun } from "../device.js";
import { type TickScale, tickScale } from "./device-end-counter.js";
import type { DeviceProfile } from "./device-end-profile.js";
import { type LinkInput, OWED_MOST, type Reported, type RequestNumber } from "./message.js";

/** An input of the queue. */
export interface Asked {
  readonly atTicks: number;
  readonly input: LinkInput;
  readonly number: RequestNumber;
}

export interface DeviceRunOptions {
  readonly start: StartRun;
  readonly profile: DeviceProfile;
  readonly settings: Settings;
  readonly startTicks: number;
  readonly lagTicks: number;
  readonly report: (ticks: number, event: Reported) => void;
}

/** An odd number, so that lags are spread over their range. */
const LAG_STRIDE = 31;
const REMAINDER_MOST = 65_535;

export class DeviceRun {
  private readonly scale: TickScale;
  /** None any more once it has failed. */
  private run: Run | undefined;
  private acting: RequestNumber;
  private accounts: Reported = {
    kind: "status",
    earned: 0,
    paced: 0,
    primed: 0,
    owed: 0,
    shed: 0,
    remainder: 0,
  };

  constructor(private readonly options: DeviceRunOptions) {
    const { profile, settings, start, startTicks } = options;
    this.scale = tickScale(profile.ticksPerSecond);
    this.guarded(startTicks, () => {
      this.run = start(
        settings,
        (event) => {
          this.tell(event);
        },
        {
          startMicros: this.scale.microsOf(startTicks),
          lateness: (askedMicros) => this.lateness(askedMicros),
        },
      );
    });
  }

  /** Does an input at its time; `settings` are those that it brings into force, if it is one of those. */
  act({ atTicks, input, number }: Asked, settings: Settings | undefined): void {
    this.guarded(atTicks, () => {
      this.acting = number;
      this.run?.give(stimulusOf(input, this.scale.microsOf(atTicks), settings));
    });
  }

  /** Lets time go on. */
  goTo(ticks: number): void {
    this.guarded(ticks, () => this.run?.end(this.scale.microsOf(ticks)));
  }

  /** Tells the accounts as they are. */
  tellStatus(ticks: number): void {
    this.options.report(ticks, this.accounts);
  }

  /** Cannot go on, and says why. */
  fail(ticks: number, message: string): void {
    this.run = undefined;
    this.options.report(ticks, { kind: "fault", message });
  }

  private guarded(ticks: number, work: () => void): void {
    try {
      work();
    } catch (error) {
      this.fail(ticks, error instanceof Error ? error.message : "failed");
    }
  }

  private lateness(askedMicros: Micros): Micros {
    const { microsOf, ticksOf } = this.scale;
    const due = ticksOf(askedMicros);
    const tick = microsOf(due) < askedMicros ? due + 1 : due;
    return microsOf(tick + ((tick * LAG_STRIDE) % (this.options.lagTicks + 1))) - askedMicros;
  }

  private tell(event: TraceEvent): void {
    const { profile, report } = this.options;
    const ticks = this.scale.ticksOf(event.atMicros);
    if (isStimulus(event)) {
      report(ticks, { kind: "did", number: this.acting });
      return;
    }
    const told = asTold(event);
    if (told.kind === "status") this.accounts = told;
    const isTold = told.kind === "fault" || profile.tells.includes(told.kind);
    if (isTold) report(ticks, told);
    else if ((told.kind === "paced" || told.kind === "primed") && profile.tells.includes("stroke")) {
      report(ticks, { kind: "stroke" });
    }
  }
}

function stimulusOf(input: LinkInput, atMicros: Micros, settings: Settings | undefined): StimulusEvent {
  if (input.kind !== "settings") return { ...input, atMicros };
  if (settings === undefined) throw new Error("settings came into force that nobody looked at");
  return { ...input, atMicros, settings };
}

/** Counts as 32 bits hold them: a controller that reckons below nothing tells a large number, as firmware would. */
function asTold(event: Exclude<TraceEvent, StimulusEvent>): Exclude<Reported, { kind: "did" | "stroke" }> {
  const told: { [name: string]: unknown } = {};
  for (const [name, value] of Object.entries(event)) {
    if (name !== "atMicros") told[name] = typeof value === "number" ? value >>> 0 : value;
  }
  if (event.kind === "status") {
    told["owed"] = Math.min(event.owed >>> 0, OWED_MOST);
    told["remainder"] = Math.min(event.remainder >>> 0, REMAINDER_MOST);
  }
  return told as unknown as Exclude<Reported, { kind: "did" | "stroke" }>;
}
