/**
 * Who asks and who answers? Numbered requests, their answers, and reports without gaps, over any transport.
 *
 * Harness layer; LINK.md, sections 2 to 4. Nothing here waits without a deadline, and no promise is left to reject
 * unseen: a failure is kept, and thrown to whoever waits or asks next.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { type GreetingLine, type Greeting, readGreeting } from "./greeting.js";
import { BYTES_MOST_FROM_DEVICE, checkedLine, newLineReader } from "./line.js";
import { LinkFault } from "./link-fault.js";
import { type DeviceLine, formatRequest, NUMBER_MOST, parseDeviceLine, type Request } from "./message.js";
import type { BenchClock, Transport } from "./transport.js";

export interface LinkLimits {
  /** How long an answer is waited for before it is asked for again; 1 s. */
  readonly patienceMicros: Micros;
  /** How often it is asked for again; 5. */
  readonly repeatsMost: number;
  /** How long one request may take in all, however many reports come meanwhile; 120 s. */
  readonly requestMicros: Micros;
  /** Most lines, and bytes that are no line, between two answers. */
  readonly linesMost: number;
}

export const USUAL_LIMITS: LinkLimits = {
  patienceMicros: 1_000_000,
  repeatsMost: 5,
  requestMicros: 120_000_000,
  linesMost: 100_000,
};

/** A report of a run. */
export type Report = Extract<DeviceLine, { readonly kind: "report" }>;

interface Pending {
  readonly number: number;
  readonly request: Request;
  readonly bytes: Uint8Array;
}

const SEND_AGAIN = new Set(["check", "long", "byte", "order"]);
const BAD_LINES = {
  check: "a line whose check is wrong",
  long: `a line of more than ${BYTES_MOST_FROM_DEVICE} bytes`,
  byte: "a line that is not printable ASCII",
};
const HALF_NUMBERS = 32_768;
/** Most bytes without a line in them, for each line that is allowed. */
const BYTES_PER_LINE = BYTES_MOST_FROM_DEVICE;

export class Session {
  /** Is told every report of a run once, in order. */
  onReport: (report: Report) => void = () => undefined;
  private failure: LinkFault | undefined;
  private gone: LinkFault | undefined;
  private pending: Pending[] = [];
  private nextNumber = 1;
  private lastReport = 0;
  private hasGap = false;
  private answer: { readonly number: number; readonly value: number | undefined } | undefined;
  private greetingLines: GreetingLine[] = [];
  private greeting: Greeting | undefined;
  private nonce: number;
  private isSending = false;
  private unsent: Uint8Array[] = [];
  private repeats = 0;
  private hasRepeatedAtOnce = false;
  private stopPatience: () => void = () => undefined;
  private lines = 0;
  /** The last line that came and could not be used, for the words of a failure. */
  private unusable: string | undefined;
  private bytes = 0;
  private wakeWaiters: (() => void)[] = [];

  constructor(
    private readonly transport: Transport,
    private readonly clock: BenchClock,
    private readonly limits: LinkLimits,
    firstNonce: number,
  ) {
    this.nonce = firstNonce;
    const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
    transport.onBytes((bytes) => {
      this.bytes += bytes.length;
      // Where there is a flood, not even reading it is worth the time.
      if (this.failure?.fault.kind === "flood") return;
      for (const line of reader.push(bytes)) {
        this.lines += 1;
        if (line.ok && line.checked) this.take(line.text);
        else this.unusable = line.ok ? "a line without its check" : BAD_LINES[line.fault];
      }
      if (this.lines > this.limits.linesMost || this.bytes > this.limits.linesMost * BYTES_PER_LINE) {
        this.fail(
          new LinkFault(
            "flood",
            `more than ${this.limits.linesMost} lines came without an answer among them`,
          ),
        );
      }
    });
    transport.onGone((why) => {
      this.gone = new LinkFault("unplugged", `${transport.name} went away: ${why}`);
      this.fail(this.gone);
    });
  }

  get isGone(): boolean {
    return this.gone !== undefined;
  }

  /** Starts anew: whatever was on ends, and the device greets. */
  async hello(): Promise<Greeting> {
    this.failure = this.gone;
    this.greeting = undefined;
    this.hasGap = false;
    this.nonce = (this.nonce % NUMBER_MOST) + 1;
    this.nextNumber = 0;
    this.pending = [];
    this.unsent = [];
    this.lines = this.bytes = 0;
    this.greetingLines = [];
    this.put({ verb: "hello", nonce: this.nonce });
    await this.until(() => this.pending.length === 0, this.limits.requestMicros);
    this.lastReport = this.greetingLines.length;
    this.greeting = readGreeting(this.greetingLines, this.transport.name);
    return this.greeting;
  }

  /** Asks and waits for the answer, and for every report from before it. Throws a LinkFault. */
  async ask(request: Request): Promise<number | undefined> {
    await this.settle();
    const value = await this.askOnce(request);
    await this.mendGap();
    return value;
  }

  /** Sends an input for later, as soon as the window lets it go; `onNumber` is told its number before it leaves. */
  async post(request: Request & { readonly verb: "at" }, onNumber: (number: number) => void): Promise<void> {
    const window = this.greeting?.window ?? 1;
    await this.until(() => this.pending.length < window, this.limits.requestMicros);
    this.throwFailure();
    onNumber(this.nextNumber);
    this.put(request);
  }

  /** Waits until everything is answered and no report is missing. */
  async settle(): Promise<void> {
    await this.until(() => this.pending.length === 0, this.limits.requestMicros);
    await this.mendGap();
  }

  /** Waits for anything to happen, at most so long. */
  async pause(micros: Micros): Promise<void> {
    if (this.failure !== undefined) throw this.failure;
    await this.change(micros);
    // The linter cannot know that waiting lets the world go on.
    this.throwFailure();
  }

  /** Lets whoever waits or asks next fail. */
  fail(fault: LinkFault): void {
    this.failure ??= fault;
    this.stopPatience();
    this.pending = [];
    this.unsent = [];
    this.changed();
  }

  async close(): Promise<void> {
    this.fail(new LinkFault("given-up", "the device has been closed"));
    await this.transport.close();
  }

  private async askOnce(request: Request): Promise<number | undefined> {
    if (request.verb === "begin") {
      this.lastReport = 0;
      this.hasGap = false;
    }
    const number = this.put(request);
    await this.until(() => this.pending.length === 0, this.limits.requestMicros);
    return this.answer?.number === number ? this.answer.value : undefined;
  }

  private async mendGap(): Promise<void> {
    for (let tries = 0; this.hasGap; tries++) {
      const lost = (this.lastReport % NUMBER_MOST) + 1;
      if (this.greeting?.keep === 0 || tries > this.limits.repeatsMost) {
        this.fail(new LinkFault("lost-report", `report ${lost} was lost and cannot be had again`));
        this.throwFailure();
      }
      this.hasGap = false;
      await this.askOnce({ verb: "again", report: lost });
    }
  }

  private put(request: Request): number {
    this.throwFailure();
    const number = this.nextNumber;
    this.nextNumber = (number % NUMBER_MOST) + 1;
    const bytes = Buffer.from(checkedLine(formatRequest({ number, request })), "latin1");
    this.pending.push({ number, request, bytes });
    this.sendSoon([bytes]);
    if (this.pending.length === 1) this.beginPatience();
    return number;
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
      this.gone ??= new LinkFault("unplugged", `${this.transport.name} cannot be written to: ${words}`);
      this.fail(this.gone);
    } finally {
      this.isSending = false;
    }
  }

  private beginPatience(): void {
    this.repeats = 0;
    this.hasRepeatedAtOnce = false;
    this.armPatience();
  }

  private armPatience(): void {
    this.stopPatience();
    this.stopPatience = this.clock.after(this.limits.patienceMicros, () => {
      const [first] = this.pending;
      if (first === undefined) return;
      if (this.repeats >= this.limits.repeatsMost) {
        const heard = this.unusable === undefined ? "" : ` that could be used (${this.unusable} came)`;
        const stuck = this.isSending ? "the port takes nothing more" : `no answer${heard}`;
        this.fail(
          new LinkFault("silent", `${stuck}: asked ${this.repeats + 1} times for \`${first.request.verb}\``),
        );
        return;
      }
      this.repeats += 1;
      this.sendAgain();
      this.armPatience();
    });
  }

  private sendAgain(): void {
    // What waits behind a write that does not end is not made better by more of it.
    if (!this.isSending) this.sendSoon(this.pending.map(({ bytes }) => bytes));
  }

  private take(text: string): void {
    const line = parseDeviceLine(text);
    const isGreeting = this.pending[0]?.request.verb === "hello";
    if ("fault" in line) {
      if (!isGreeting) this.fail(new LinkFault("nonsense", line.fault));
      return;
    }
    switch (line.kind) {
      case "boot":
        // Opening the port may reset the board, and then the first greeting is lost with what it was asked by.
        if (isGreeting) this.sendAgain();
        else this.fail(new LinkFault("restarted", `${line.name} started anew in the middle`));
        return;
      case "is":
        if (isGreeting) this.takeGreeting(line.report, line);
        return;
      case "report":
        if (!isGreeting) this.takeReport(line);
        return;
      case "no":
        this.takeRefusal(line);
        return;
      case "ok":
        this.takeAnswer(line.number, line.lastReport, line.value);
        return;
    }
  }

  private takeGreeting(report: number, line: GreetingLine): void {
    if (report === 1) this.greetingLines = [];
    if (report === this.greetingLines.length + 1) this.greetingLines.push(line);
  }

  private takeReport(report: Report): void {
    const ahead = this.aheadOf(report.report);
    if (ahead === 0) return;
    if (ahead > 1) {
      this.hasGap = true;
      return;
    }
    this.lastReport = report.report;
    if (this.pending[0]?.request.verb === "go") this.beginPatience();
    this.onReport(report);
    this.changed();
  }

  /** How many reports are new up to number `report`: none for a repeated one. */
  private aheadOf(report: number): number {
    if (report === 0) return 0;
    const ahead = (report - this.lastReport + NUMBER_MOST) % NUMBER_MOST;
    return ahead < HALF_NUMBERS ? ahead : 0;
  }

  private takeAnswer(number: number | undefined, lastReport: number, value: number | undefined): void {
    const at = this.pending.findIndex((each) => each.number === number);
    if (number === undefined || at < 0) return;
    if (number === 0) {
      if (value !== this.nonce) return;
      // Lost lines of a greeting come again with the next try.
      if (this.greetingLines.length !== lastReport) return;
    } else if (this.aheadOf(lastReport) > 0) this.hasGap = true;
    // Answers come in order: one whose own is lost was dealt with, and its `did` will tell whether it was taken.
    this.pending.splice(0, at + 1);
    this.answer = { number, value };
    this.lines = this.bytes = 0;
    if (this.pending.length > 0) this.beginPatience();
    else this.stopPatience();
    this.changed();
  }

  private takeRefusal({ number, reason, words }: Extract<DeviceLine, { readonly kind: "no" }>): void {
    const refused = this.pending.find((each) => each.number === number);
    if (SEND_AGAIN.has(reason)) {
      // At once the first time; after that with patience, since one damaged line brings a refusal for each after it.
      if (this.pending.length === 0 || this.hasRepeatedAtOnce) return;
      this.hasRepeatedAtOnce = true;
      this.sendAgain();
    } else if (refused !== undefined) {
      const said = words === "" ? reason : `${reason} ${words}`;
      const text = formatRequest(refused);
      if (reason === "late")
        this.fail(new LinkFault("late", `\`${text}\` came too late: the device is at ${words}`));
      else if (refused.request.verb === "again") {
        this.fail(
          new LinkFault("lost-report", `report ${refused.request.report} was lost and is no longer kept`),
        );
      } else this.fail(new LinkFault("refused", `\`${text}\` was refused: ${said}`));
    }
  }

  private async until(isSo: () => boolean, mostMicros: Micros): Promise<void> {
    const endMicros = this.clock.nowMicros() + mostMicros;
    for (;;) {
      this.throwFailure();
      if (isSo()) return;
      const leftMicros = endMicros - this.clock.nowMicros();
      if (leftMicros <= 0) this.fail(new LinkFault("silent", `no answer within ${mostMicros / 1e6} s`));
      else await this.change(leftMicros);
    }
  }

  private throwFailure(): void {
    if (this.failure !== undefined) throw this.failure;
  }

  private change(mostMicros: Micros): Promise<void> {
    return new Promise((resolve) => {
      const stop = this.clock.after(mostMicros, resolve);
      this.wakeWaiters.push(() => {
        stop();
        resolve();
      });
    });
  }

  private changed(): void {
    for (const wake of this.wakeWaiters.splice(0)) wake();
  }
}
