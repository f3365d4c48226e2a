/**
 * Which requests are under way unanswered, and when are they sent again? LINK.md, section 2: numbers and patience.
 *
 * Harness layer. One write is under way at a time. No promise is left to reject unseen: what fails is told.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { checkedLine } from "./line.js";
import { LinkFault } from "./link-fault.js";
import { type AnyRequest, formatRequest, NUMBER_MOST } from "./message.js";
import type { BenchClock, Transport } from "./transport.js";

export interface Patience {
  /** How long an answer is waited for before it is asked for again; 1 s. */
  readonly patienceMicros: Micros;
  /** How often it is asked for again; 5. */
  readonly repeatsMost: number;
  /** The same for the greeting, if not as long: opening a port may reset a board, which then takes its time. */
  readonly greetingPatienceMicros?: Micros;
}

/** Is told why nothing more can come of what is under way. */
export interface OutboxEars {
  /** It was asked for often enough: what happened, without what was heard instead. */
  readonly silent: (words: string, verb: AnyRequest["verb"]) => void;
  readonly gone: (fault: LinkFault) => void;
}

interface Pending {
  readonly number: number;
  readonly request: AnyRequest;
  readonly bytes: Uint8Array;
}

export class Outbox {
  private pending: Pending[] = [];
  private next = 1;
  private isSending = false;
  private unsent: Uint8Array[] = [];
  private repeats = 0;
  private hasRepeatedAtOnce = false;
  private stopPatience: () => void = () => undefined;

  constructor(
    private readonly transport: Transport,
    private readonly clock: BenchClock,
    private readonly limits: Patience,
    private readonly ears: OutboxEars,
  ) {}

  /** How many are under way. */
  get length(): number {
    return this.pending.length;
  }

  /** What the device is about, as far as can be told: requests are answered in order. */
  get firstVerb(): AnyRequest["verb"] | undefined {
    return this.pending[0]?.request.verb;
  }

  /** The number that the next request will have. */
  get nextNumber(): number {
    return this.next;
  }

  /** The request of that number, if it is under way. */
  find(number: number | undefined): Pending | undefined {
    return this.pending.find((each) => each.number === number);
  }

  /** Forgets what is under way; the next request has number 0, as `hello` alone has. */
  startAnew(): void {
    this.clear();
    this.next = 0;
  }

  clear(): void {
    this.stopPatience();
    this.pending = [];
    this.unsent = [];
  }

  /** Sends a request; answers its number. */
  put(request: AnyRequest): number {
    const number = this.next;
    this.next = (number % NUMBER_MOST) + 1;
    const bytes = Buffer.from(checkedLine(formatRequest({ number, request })), "latin1");
    this.pending.push({ number, request, bytes });
    this.sendSoon([bytes]);
    if (this.pending.length === 1) this.waitAnew();
    return number;
  }

  /**
   * Answers come in order: one whose own is lost was dealt with, and its `did` will tell whether it was taken. So all
   * up to this number, which is under way, are answered.
   */
  answeredUpTo(number: number): void {
    this.pending.splice(0, this.pending.findIndex((each) => each.number === number) + 1);
    if (this.pending.length > 0) this.waitAnew();
    else this.stopPatience();
  }

  /** Gives what is under way the whole of the patience again. */
  waitAnew(): void {
    this.repeats = 0;
    this.hasRepeatedAtOnce = false;
    this.armPatience();
  }

  /** Repeats everything unanswered, in order. */
  sendAgain(): void {
    // What waits behind a write that does not end is not made better by more of it.
    if (!this.isSending) this.sendSoon(this.pending.map(({ bytes }) => bytes));
  }

  /** The same at once, but once only; after that with patience: a damaged line brings a refusal for each after it. */
  sendAgainAtOnce(): void {
    if (this.pending.length === 0 || this.hasRepeatedAtOnce) return;
    this.hasRepeatedAtOnce = true;
    this.sendAgain();
  }

  private armPatience(): void {
    this.stopPatience();
    const { patienceMicros, greetingPatienceMicros = patienceMicros } = this.limits;
    const micros = this.firstVerb === "hello" ? greetingPatienceMicros : patienceMicros;
    this.stopPatience = this.clock.after(micros, () => {
      const verb = this.firstVerb;
      if (verb === undefined) return;
      if (this.repeats >= this.limits.repeatsMost) {
        this.ears.silent(this.isSending ? "the port takes nothing more" : "no answer", verb);
        return;
      }
      this.repeats += 1;
      this.sendAgain();
      this.armPatience();
    });
  }

  private sendSoon(pieces: readonly Uint8Array[]): void {
    this.unsent.push(...pieces);
    if (!this.isSending) void this.sendAll();
  }

  private async sendAll(): Promise<void> {
    this.isSending = true;
    try {
      while (this.unsent.length > 0) await this.transport.send(Buffer.concat(this.unsent.splice(0)));
    } catch (error) {
      const words = error instanceof Error ? error.message : String(error);
      this.ears.gone(new LinkFault("unplugged", `${this.transport.name} cannot be written to: ${words}`));
    } finally {
      this.isSending = false;
    }
  }
}
