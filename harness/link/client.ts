/**
 * A device at the other end of a transport, behind the seam of devices. Harness layer; LINK.md is its specification.
 *
 * Whatever the other end does ends in a trace or a fault, never in a rejection, and whatever way a run ends, the device
 * is told to stop.
 */
import { isDeepStrictEqual } from "node:util";
import type { Micros } from "../../lib/pacing/index.js";
import type { Device, DeviceFault, Job, JobEnd } from "../device.js";
import { realClock } from "./bench-clock.js";
import { ticksAt } from "./device-time.js";
import { playable } from "./fixture.js";
import type { Greeting } from "./greeting.js";
import { LinkFault } from "./link-fault.js";
import { LinkRun, stage, type Staged } from "./link-run.js";
import { type ClockEstimate, estimateClock, type RoundTrip } from "./offset.js";
import { playFree, playStepped } from "./play.js";
import { type LinkLimits, Session, USUAL_LIMITS } from "./session.js";
import type { BenchClock, Transport } from "./transport.js";

export interface ConnectOptions {
  readonly clock?: BenchClock;
  readonly limits?: Partial<LinkLimits>;
  /** A fixture's strokes so soon after release still count as primed; default 0. */
  readonly toleranceMicros?: Micros;
  /** How long after the start of a run on a free clock its stimulus begins; default 300 ms. */
  readonly leadMicros?: Micros;
  /** The nonce before the first, 0 to 65,535; default 0. */
  readonly nonce?: number;
}

/** A device over the link. */
export interface LinkDevice extends Device {
  /** How its clock stands to the bench's, after the last run on a free clock. */
  readonly clockEstimate: ClockEstimate | undefined;
}

/** The device did not come to be: what happened, and what to do. It ends in exit status 3. */
export class DeviceError extends Error {
  override readonly name = "DeviceError";

  constructor(readonly fault: DeviceFault) {
    super(`${fault.message}. Mend: ${fault.mend}.`);
  }
}

const LEAD_MICROS: Micros = 300_000;

/** Greets the device. Rejects with a {@link DeviceError}, the transport closed, if it does not answer as it should. */
export async function connect(transport: Transport, options: ConnectOptions = {}): Promise<LinkDevice> {
  const clock = options.clock ?? realClock;
  const session = new Session(transport, clock, { ...USUAL_LIMITS, ...options.limits }, options.nonce ?? 0);
  let greeting: Greeting;
  try {
    greeting = await session.hello();
  } catch (error) {
    await session.close();
    if (error instanceof LinkFault) throw new DeviceError(error.fault);
    throw error;
  }
  return linkDevice(session, greeting, clock, options);
}

function linkDevice(
  session: Session,
  greeting: Greeting,
  clock: BenchClock,
  options: ConnectOptions,
): LinkDevice {
  let staged: Staged = new Map();
  let isSound = true;
  let isRunning = false;
  let isClosed = false;
  let estimate: ClockEstimate | undefined;

  /** After a failure only a greeting tells that the device is idle; false if it does not come. */
  const greet = async (): Promise<void> => {
    isSound = false;
    staged = new Map();
    // What is planned and how it is judged rests on the first greeting.
    if (!isDeepStrictEqual(await session.hello(), greeting)) {
      throw new LinkFault("nonsense", "the device greeted otherwise than before");
    }
    isSound = true;
  };

  const play = async (job: Job): Promise<void> => {
    const isFree = greeting.about.clock === "real";
    const trips: RoundTrip[] = [];
    const startTicks = await start(session, greeting, staged, job, isFree ? "free" : "stepped");
    const run = new LinkRun(
      session,
      greeting,
      job,
      playable(job.stimulus, job.settings, greeting.about),
      staged,
      {
        startTicks,
        leadMicros: isFree ? (options.leadMicros ?? LEAD_MICROS) : 0,
        toleranceMicros: options.toleranceMicros ?? 0,
      },
    );
    if (isFree) await playFree(run, clock, trips).finally(() => (estimate = estimateClock(trips)));
    else await playStepped(run);
    await session.ask({ verb: "end" });
    run.finish();
  };

  const runOnce = async (job: Job): Promise<JobEnd> => {
    const giveUp = (): void => {
      session.fail(new LinkFault("given-up", "the run was given up from outside"));
    };
    let wasGreeted = isSound;
    try {
      if (!isSound) await greet();
      wasGreeted = true;
      if (job.signal?.aborted === true) giveUp();
      job.signal?.addEventListener("abort", giveUp, { once: true });
      await play(job);
      return { ok: true };
    } catch (error) {
      isSound = false;
      job.signal?.removeEventListener("abort", giveUp);
      // One that did not greet just now would only be waited for once more.
      if (wasGreeted && !session.isGone && !isClosed) await greet().catch(onlyLinkFaults);
      if (error instanceof LinkFault) return { ok: false, fault: error.fault };
      throw error;
    } finally {
      job.signal?.removeEventListener("abort", giveUp);
      session.listen(undefined);
    }
  };

  return {
    get about() {
      return greeting.about;
    },
    get clockEstimate() {
      return estimate;
    },
    async run(job) {
      if (isRunning) throw new Error("a run is on already");
      isRunning = true;
      try {
        return await runOnce(job);
      } finally {
        isRunning = false;
      }
    },
    async close() {
      if (isClosed) return;
      isClosed = true;
      // `bye` lets a person type again; one that does not answer is idle or dead.
      if (isSound && !isRunning) await session.ask({ verb: "bye" }).catch(onlyLinkFaults);
      await session.close();
    },
  };
}

async function start(
  session: Session,
  greeting: Greeting,
  staged: Staged,
  job: Job,
  clock: "stepped" | "free",
): Promise<number> {
  const { about } = greeting;
  await stage(session, greeting, staged, job.settings);
  if (about.canStartAt && job.startMicros !== undefined) {
    await session.ask({ verb: "clock", ticks: ticksAt(job.startMicros, greeting) });
  }
  const lag = String(ticksAt(job.lagMicros ?? 0, greeting));
  // The word is no setting's, so it stands beside them.
  if (about.canLag && staged.get("lag") !== lag) {
    await session.ask({ verb: "lag", ticks: Number(lag) });
    staged.set("lag", lag);
  }
  const startTicks = await session.ask({ verb: "begin", clock });
  if (startTicks === undefined) throw new LinkFault("nonsense", "`begin` was answered without the counter");
  return startTicks;
}

function onlyLinkFaults(error: unknown): void {
  if (!(error instanceof LinkFault)) throw error;
}
