/**
 * A meter with a register, a pump that numbers its strokes, or both, at the other end of a transport. Harness layer;
 * LINK.md, section 10.
 *
 * One thing is asked at a time, and something is asked at least every half second, so that a silent device is found
 * out within 1.5 s. Everything rejects with a LinkFault; one that ends the session is told as well, once. A refusal
 * ends nothing.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { realClock } from "./bench-clock.js";
import type { GreetingLine, SessionTerms } from "./greeting.js";
import { LinkFault } from "./link-fault.js";
import type { PlantRequest } from "./message.js";
import { whole } from "./message-number.js";
import { type LinkLimits, type PlantReport, Session } from "./session.js";
import type { BenchClock, Transport } from "./transport.js";

export interface PlantGreeting extends SessionTerms {
  /** What it calls itself. */
  readonly name: string;
  readonly hasMeter: boolean;
  readonly hasPump: boolean;
}

export interface PlantEars {
  /**
   * A reading of the register, modulo 2^32: told as it changed, or the answer to having asked again, which may be behind
   * what was told meanwhile. What it throws ends the session.
   */
  readonly register: (contacts: number, by: "report" | "answer") => void;
  /** Told once: nothing more can come. Not told of closing. */
  readonly lost: (fault: LinkFault) => void;
}

export interface PlantOptions {
  readonly clock?: BenchClock;
  /** The nonce before the first, 0 to 65,535; default 0. */
  readonly nonce?: number;
}

/** An answer within 1 s, asked for five times; the greeting as long as that of any device. */
const LIMITS: LinkLimits = {
  patienceMicros: 200_000,
  repeatsMost: 4,
  greetingPatienceMicros: 1_000_000,
  requestMicros: 10_000_000,
  linesMost: 10_000,
};
const BEAT_MICROS: Micros = 500_000;
const NAME_USUAL = "a device without a name";

/** Greets the device. Rejects with a LinkFault, the transport closed, if it does not answer as it should. */
export async function connectPlant(
  transport: Transport,
  ears: PlantEars,
  { clock = realClock, nonce = 0 }: PlantOptions = {},
): Promise<Plant> {
  const session = new Session(transport, clock, LIMITS, nonce);
  try {
    return new Plant(session, await session.greet(readPlantGreeting), clock, ears);
  } catch (error) {
    await session.close();
    throw error;
  }
}

export class Plant {
  private turn: Promise<unknown> = Promise.resolve();
  /** What is asked when nothing else is; nothing before anything was. */
  private beat: "register" | "last" | undefined;
  private isClosed = false;

  constructor(
    private readonly session: Session,
    readonly greeting: PlantGreeting,
    private readonly clock: BenchClock,
    private readonly ears: PlantEars,
  ) {
    session.listenToPlant((report) => {
      this.take(report);
    });
    void this.keepAsking();
  }

  /** The register; every change of it is told from now on. */
  async register(): Promise<number> {
    this.beat = "register";
    return this.ask({ verb: "register" });
  }

  /** Number of the last stroke, 0 for none. */
  async lastStroke(): Promise<number> {
    this.beat ??= "last";
    return this.ask({ verb: "last" });
  }

  /** Makes the stroke of this number, if it is not the last already. */
  async stroke(stroke: number): Promise<void> {
    this.beat ??= "last";
    const made = await this.ask({ verb: "stroke", stroke });
    if (made !== stroke) {
      const fault = new LinkFault("nonsense", `it was to make stroke ${stroke} and answered ${made}`);
      this.session.fail(fault);
      throw fault;
    }
  }

  /** Gives up, for this reason. */
  fail(fault: LinkFault): void {
    this.session.fail(fault);
  }

  /** Never rejects. */
  async close(): Promise<void> {
    if (this.isClosed) return;
    this.isClosed = true;
    // `bye` lets a person type again; a device that does not answer tells nothing more in a while anyway.
    await this.inTurn(() => this.session.ask({ verb: "bye" })).catch(() => undefined);
    await this.session.close();
  }

  private async ask(request: PlantRequest): Promise<number> {
    const value = await this.inTurn(() => this.session.ask(request));
    if (value !== undefined) return value;
    const fault = new LinkFault("nonsense", `\`${request.verb}\` was answered without a number`);
    this.session.fail(fault);
    throw fault;
  }

  /** The window of a device in the plant is 1, and an answer is kept until the next comes. */
  private inTurn<Value>(act: () => Promise<Value>): Promise<Value> {
    const acting = this.turn.then(act, act);
    this.turn = acting.catch(() => undefined);
    return acting;
  }

  private take(report: PlantReport): void {
    if (report.kind === "register") this.ears.register(report.contacts, "report");
    else if (report.event.kind === "fault") throw new LinkFault("failed", `it says: ${report.event.message}`);
    else throw new LinkFault("nonsense", `it reported ${report.event.kind}, as nothing in the plant does`);
  }

  /** Ends when the session fails, with what it failed by. */
  private async keepAsking(): Promise<void> {
    let nextMicros = this.clock.nowMicros() + BEAT_MICROS;
    try {
      for (;;) {
        const leftMicros = nextMicros - this.clock.nowMicros();
        if (leftMicros > 0) await this.session.pause(leftMicros);
        else {
          nextMicros = this.clock.nowMicros() + BEAT_MICROS;
          if (this.beat === "register") this.ears.register(await this.register(), "answer");
          else if (this.beat === "last") await this.lastStroke();
        }
      }
    } catch (error) {
      if (this.isClosed) return;
      if (!(error instanceof LinkFault)) throw error;
      this.ears.lost(error);
    }
  }
}

/** Reads the greeting of a device in the plant; throws a LinkFault if it is another, or lacks what the feed needs. */
export function readPlantGreeting(lines: readonly GreetingLine[]): PlantGreeting {
  const said = (what: string): string | undefined => lines.find((line) => line.what === what)?.words;
  const wrong = (what: string, mend?: string): LinkFault => {
    const words = said(what);
    const quoted = words === undefined || words === "" ? "nothing" : `"${words}"`;
    return new LinkFault("nonsense", `the greeting says ${quoted} for "is ${what}"`, mend);
  };
  if (said("link") !== "1") throw wrong("link");
  if (said("role") !== "plant") {
    throw wrong("role", "give a meter or pump, or verify the controller with `tallystroke verify`");
  }
  const has = said("has")?.split(" ") ?? [];
  const [rate, width] = said("ticks")?.split(" ") ?? [];
  if (whole(rate, 1_000, 1_000_000) === undefined || !["16", "24", "32"].includes(width ?? "")) {
    throw wrong("ticks");
  }
  if (!has.includes("meter") && !has.includes("pump")) throw wrong("has");
  return {
    name: said("name") ?? NAME_USUAL,
    hasMeter: has.includes("meter"),
    hasPump: has.includes("pump"),
    window: 1,
    keep: 0,
    isPlant: true,
  };
}
