/**
 * Who asks and who answers? Requests, their answers, and reports without gaps, over any transport.
 *
 * Harness layer; LINK.md, sections 2 to 4. Nothing here waits without a deadline: a failure is kept, and thrown to
 * whoever waits or asks next. What is under way, and when it is sent again, is in
 * outbox.ts, lines that come are in inbox.ts.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { type GreetingLine, type Greeting, readGreeting, type SessionTerms } from "./greeting.js";
import { Inbox } from "./inbox.js";
import { LinkFault, refusalFault } from "./link-fault.js";
import { type AnyRequest, type DeviceLine, NUMBER_MOST, parseDeviceLine, type Request } from "./message.js";
import { Outbox, type Patience } from "./outbox.js";
import { type PlantReport, type Report, ReportOrder } from "./report-order.js";
import type { BenchClock, Transport } from "./transport.js";

export type { PlantReport, Report };

export interface LinkLimits extends Patience {
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

const SEND_AGAIN = new Set(["check", "long", "byte", "order"]);

export class Session {
  private readonly outbox: Outbox;
  private readonly inbox: Inbox;
  private failure: Error | undefined;
  private gone: LinkFault | undefined;
  private readonly reports = new ReportOrder((error) => {
    this.fail(error);
  });
  private answer: { readonly number: number; readonly value?: number | undefined } | undefined;
  private refusal: LinkFault | undefined;
  private greetingLines: GreetingLine[] = [];
  private terms: SessionTerms | undefined;
  private nonce: number;
  private wakeWaiters: (() => void)[] = [];

  constructor(
    private readonly transport: Transport,
    private readonly clock: BenchClock,
    private readonly limits: LinkLimits,
    firstNonce: number,
  ) {
    this.nonce = firstNonce;
    this.outbox = new Outbox(transport, clock, limits, {
      silent: (words, verb) => {
        const { unusable } = this.inbox;
        const heard = unusable === undefined ? "" : ` that could be used (${unusable} came)`;
        const times = limits.repeatsMost + 1;
        this.fail(new LinkFault("silent", `${words}${heard}: asked ${times} times for \`${verb}\``));
      },
      gone: (fault) => {
        this.lose(fault);
      },
    });
    this.inbox = new Inbox(transport, limits.linesMost, {
      take: (text) => {
        if (this.failure === undefined) this.take(text);
      },
      flooded: () => {
        const words = `more than ${limits.linesMost} lines came without an answer among them`;
        this.fail(new LinkFault("flood", words));
      },
    });
    transport.onGone((why) => {
      this.lose(new LinkFault("unplugged", `${transport.name} went away: ${why}`));
    });
  }

  get isGone(): boolean {
    return this.gone !== undefined;
  }

  /**
   * Every report of the run that is on is told once, in order, those from before too; undefined for none. What the
   * listener throws is thrown to whoever waits.
   */
  listen(tell: ((report: Report) => void) | undefined): void {
    this.listenToPlant(
      tell &&
        ((report) => {
          if (report.kind === "report") tell(report);
        }),
    );
  }

  /** The same of a device in the plant, whose register is reported too. */
  listenToPlant(tell: ((report: PlantReport) => void) | undefined): void {
    this.reports.listen(tell);
  }

  /** Starts anew: whatever was on ends, and the device greets. */
  hello(): Promise<Greeting> {
    return this.greet(readGreeting);
  }

  /** The same with a greeting that is read in another way. */
  async greet<Terms extends SessionTerms>(
    read: (lines: readonly GreetingLine[], spec: string) => Terms,
  ): Promise<Terms> {
    this.failure = this.gone;
    this.terms = undefined;
    this.reports.mending();
    this.nonce = (this.nonce % NUMBER_MOST) + 1;
    this.outbox.startAnew();
    this.inbox.answered();
    this.greetingLines = [];
    this.put({ verb: "hello", nonce: this.nonce });
    await this.until(() => this.outbox.length === 0, this.limits.requestMicros);
    const terms = read(this.greetingLines, this.transport.name);
    this.reports.startAfter(this.greetingLines.length, terms.isPlant === true);
    this.terms = terms;
    return terms;
  }

  /** Asks and waits for the answer, and for every report from before it. Throws a LinkFault. */
  async ask(request: AnyRequest): Promise<number | undefined> {
    await this.settle();
    const value = await this.askOnce(request);
    await this.mendGap();
    return value;
  }

  /** Sends an input for later, as soon as the window lets it go; `onNumber` is told its number before it leaves. */
  async post(request: Request & { readonly verb: "at" }, onNumber: (number: number) => void): Promise<void> {
    const window = this.terms?.window ?? 1;
    await this.until(() => this.outbox.length < window, this.limits.requestMicros);
    this.throwFailure();
    onNumber(this.outbox.nextNumber);
    this.put(request);
  }

  /** Waits until everything is answered and no report is missing. */
  async settle(): Promise<void> {
    await this.until(() => this.outbox.length === 0, this.limits.requestMicros);
    await this.mendGap();
  }

  /** Waits for anything to happen, at most so long. */
  async pause(micros: Micros): Promise<void> {
    this.throwFailure();
    await this.change(micros);
    this.throwFailure();
  }

  /** Lets whoever waits or asks next fail. */
  fail(failure: Error): void {
    this.failure ??= failure;
    this.outbox.clear();
    this.changed();
  }

  async close(): Promise<void> {
    this.fail(new LinkFault("given-up", "the device has been closed"));
    await this.transport.close();
  }

  private async askOnce(request: AnyRequest): Promise<number | undefined> {
    if (request.verb === "begin") {
      this.reports.startAfter(0, false);
      this.reports.forgetEarly();
    }
    const number = this.put(request);
    await this.until(() => this.outbox.length === 0, this.limits.requestMicros);
    const { refusal } = this;
    this.refusal = undefined;
    if (refusal !== undefined) throw refusal;
    return this.answer?.number === number ? this.answer.value : undefined;
  }

  private async mendGap(): Promise<void> {
    for (let tries = 0; ; tries++) {
      const { lost } = this.reports;
      if (lost === undefined) return;
      if (this.terms?.keep === 0 || tries > this.limits.repeatsMost) {
        this.fail(new LinkFault("lost-report", `report ${lost} was lost and cannot be had again`));
        this.throwFailure();
      }
      this.reports.mending();
      await this.askOnce({ verb: "again", report: lost });
    }
  }

  private put(request: AnyRequest): number {
    this.throwFailure();
    return this.outbox.put(request);
  }

  private lose(fault: LinkFault): void {
    this.gone ??= fault;
    this.fail(this.gone);
  }

  private take(text: string): void {
    const line = parseDeviceLine(text);
    const isGreeting = this.outbox.firstVerb === "hello";
    if ("fault" in line) {
      if (!isGreeting) this.fail(new LinkFault("nonsense", line.fault));
      return;
    }
    switch (line.kind) {
      case "boot":
        // Opening the port may reset the board, and then the first greeting is lost with what it was asked by.
        if (isGreeting) this.outbox.sendAgain();
        else this.fail(new LinkFault("restarted", `${line.name} started anew in the middle`));
        return;
      case "is":
        if (isGreeting) this.takeGreeting(line.report, line);
        return;
      case "report":
        if (!isGreeting) this.takeReport(line);
        return;
      case "register":
        if (isGreeting) return;
        if (this.terms?.isPlant === true) this.takeReport(line);
        else this.fail(new LinkFault("nonsense", `"${text}" means nothing`));
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

  private takeReport(report: PlantReport): void {
    if (!this.reports.take(report)) return;
    if (this.outbox.firstVerb === "go") this.outbox.waitAnew();
    this.changed();
  }

  private takeAnswer(number: number | undefined, lastReport: number, value: number | undefined): void {
    if (number === undefined || this.outbox.find(number) === undefined) return;
    if (number === 0) {
      if (value !== this.nonce) return;
      // Lost lines of a greeting come again with the next try.
      if (this.greetingLines.length !== lastReport) return;
    } else this.reports.sentUpTo(lastReport);
    this.answered({ number, value });
  }

  private answered(answer: { readonly number: number; readonly value?: number | undefined }): void {
    this.outbox.answeredUpTo(answer.number);
    this.answer = answer;
    this.inbox.answered();
    this.changed();
  }

  private takeRefusal({ number, reason, words }: Extract<DeviceLine, { readonly kind: "no" }>): void {
    const refused = this.outbox.find(number);
    if (SEND_AGAIN.has(reason)) this.outbox.sendAgainAtOnce();
    else if (refused !== undefined) {
      const fault = refusalFault(refused, reason, words);
      if (this.terms?.isPlant !== true) this.fail(fault);
      else {
        this.refusal = fault;
        this.answered(refused);
      }
    }
  }

  private async until(isSo: () => boolean, mostMicros: Micros): Promise<void> {
    const { patienceMicros } = this.limits;
    let endMicros = this.clock.nowMicros() + mostMicros;
    let wasHeldUp = false;
    for (;;) {
      this.throwFailure();
      if (isSo()) return;
      const leftMicros = endMicros - this.clock.nowMicros();
      if (leftMicros < -patienceMicros && !wasHeldUp) {
        // This program was held up, and timers that are late act before what has arrived is read.
        wasHeldUp = true;
        endMicros = this.clock.nowMicros() + patienceMicros;
      } else if (leftMicros <= 0)
        this.fail(new LinkFault("silent", `no answer within ${mostMicros / 1e6} s`));
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
