/**
 * A second controller, small and plain, that keeps the laws in another way than the library: what the gallery's mistakes
 * are made in. Test support; shares no pacing code with the library.
 *
 * Written as firmware often is: one object, a handler for each input, a timer that asks when it is next needed. It feeds
 * promptly whatever the cadence, tells one alarm, and keeps everything but the prime override through a power cut. Each
 * method is one decision, so that a mistake is that method written wrongly.
 */
import type { InhibitCause, Input, Micros, Settings } from "../../lib/pacing/index.js";
import { Accounts, type Tell } from "./accounts.js";

export class Controller extends Accounts {
  protected contactMicros: Micros = -Infinity;
  protected strokeMicros: Micros = -Infinity;
  protected held = false;
  protected readonly inhibits = new Set<InhibitCause>();
  protected tripped = false;
  protected pressed = false;
  protected priming = false;
  protected primeSinceMicros: Micros = -Infinity;

  protected lineClosed = false;
  protected lineArmed = true;
  protected lineSinceMicros: Micros;
  /** Strokes the guard remembers, times its period. */
  protected guardLevel = 0;
  protected guardMicros: Micros;

  constructor(settings: Settings, nowMicros: Micros, sink: Tell) {
    super(settings, nowMicros, sink);
    this.lineSinceMicros = nowMicros;
    this.guardMicros = nowMicros;
  }

  /** When it next needs to be woken; Infinity for never. */
  nextMicros(): Micros {
    return Math.min(this.strokeDueMicros(), this.deadlineMicros());
  }

  /** The timer has run out, or somebody looks in. */
  wake(atMicros: Micros): void {
    this.passDeadlines(atMicros - 1, atMicros);
    this.strokeIfDue();
    this.passDeadlines(atMicros, atMicros);
    this.strokeIfDue();
    this.tellAccounts();
  }

  /** An input; what was due up to its moment has been done. */
  take(input: Input): void {
    this.nowMicros = input.atMicros;
    this.act(input);
    this.passDeadlines(input.atMicros, input.atMicros);
    this.strokeIfDue();
    this.tellAccounts();
  }

  protected act(input: Input): void {
    switch (input.kind) {
      case "wake":
        return;
      case "contact":
        this.takeContact(input.atMicros);
        return;
      case "close":
        this.closeLine();
        return;
      case "open":
        this.openLine();
        return;
      case "prime-on":
        this.pressPrime();
        return;
      case "prime-off":
        this.releasePrime();
        return;
      case "hold-on":
        this.beginHold();
        return;
      case "hold-off":
        this.endHold();
        return;
      case "inhibit-on":
        this.beginInhibit(input.cause);
        return;
      case "inhibit-off":
        this.endInhibit(input.cause);
        return;
      case "reset":
        this.reset();
        return;
      case "settings":
        if (input.confirmed || !this.increasesTooMuch(input.settings)) this.change(input.settings);
        else this.tell({ kind: "refused", atMicros: this.nowMicros });
        return;
    }
  }

  protected takeContact(atMicros: Micros): void {
    const { nowMicros } = this;
    if (this.isTooFast(atMicros)) {
      this.tell({ kind: "rejected", atMicros: nowMicros, contacts: 1 });
      return;
    }
    this.contactMicros = atMicros;
    if (this.ignoresContacts()) {
      this.tell({ kind: "ignored", atMicros: nowMicros, contacts: 1 });
      return;
    }
    const earned = this.earn();
    this.earned += earned;
    this.owed += earned;
    this.tell({ kind: "counted", atMicros: nowMicros, contacts: 1, earned });
    if (this.tripped) this.giveUp("trip", this.owed);
    else if (this.inhibits.size > 0) this.giveUp("inhibit", this.owed);
    else this.keepWithinLimit();
  }

  protected isTooFast(atMicros: Micros): boolean {
    return atMicros - this.contactMicros < this.settings.leastContactMicros;
  }

  protected ignoresContacts(): boolean {
    return this.held || (this.priming && this.settings.contactsDuringPrime === "ignore");
  }

  protected strokeIfDue(): void {
    if (this.strokeDueMicros() > this.nowMicros) return;
    if (this.admits()) this.stroke();
    else this.trip();
  }

  protected stroke(): void {
    this.strokeMicros = this.nowMicros;
    if (this.priming) this.strokeForPrime();
    else this.strokeForOwed();
  }

  protected strokeForOwed(): void {
    this.owed -= 1;
    this.paced += 1;
    this.tell({ kind: "paced", atMicros: this.nowMicros });
  }

  protected strokeForPrime(): void {
    this.primed += 1;
    this.tell({ kind: "primed", atMicros: this.nowMicros });
  }

  protected strokeDueMicros(): Micros {
    return this.priming || (this.owed > 0 && !this.isStopped()) ? this.spacedMicros() : Infinity;
  }

  /** The earliest moment that is far enough from the last stroke. */
  protected spacedMicros(): Micros {
    const { leastSpacingMicros, primeSpacingMicros } = this.settings;
    const isPrimeOn = this.priming && this.strokeMicros >= this.primeSinceMicros;
    return this.strokeMicros + (isPrimeOn ? primeSpacingMicros : leastSpacingMicros);
  }

  protected isStopped(): boolean {
    return this.held || this.inhibits.size > 0 || this.tripped;
  }

  /** A leaky bucket: it holds `burst` strokes and drains one budget a period; no rounding, all times the period. */
  protected admits(): boolean {
    const { guardBudgetStrokes, guardPeriodMicros, guardBurstStrokes } = this.settings;
    if (guardBudgetStrokes === 0) return true;
    const passed = this.nowMicros - this.guardMicros;
    const drained = passed > this.guardLevel ? this.guardLevel : passed * guardBudgetStrokes;
    const level = Math.max(this.guardLevel - drained, 0) + guardPeriodMicros;
    if (level > guardBurstStrokes * guardPeriodMicros) return false;
    this.guardLevel = level;
    this.guardMicros = this.nowMicros;
    return true;
  }

  protected trip(): void {
    this.tripped = true;
    this.priming = false;
    this.tell({ kind: "alarm-on", atMicros: this.nowMicros, alarm: "tripped" });
    this.giveUp("trip", this.owed);
  }

  protected reset(): void {
    if (this.tripped) this.tell({ kind: "alarm-off", atMicros: this.nowMicros, alarm: "tripped" });
    this.tripped = false;
  }

  protected pressPrime(): void {
    if (this.pressed) return;
    this.pressed = true;
    if (this.isStopped()) return;
    this.priming = true;
    this.primeSinceMicros = this.nowMicros;
  }

  protected releasePrime(): void {
    this.pressed = false;
    this.priming = false;
  }

  protected beginHold(): void {
    this.held = true;
    this.priming = false;
    this.giveUp("hold", this.owed);
  }

  protected endHold(): void {
    this.held = false;
  }

  protected beginInhibit(cause: InhibitCause): void {
    this.inhibits.add(cause);
    this.priming = false;
    this.giveUp("inhibit", this.owed);
  }

  protected endInhibit(cause: InhibitCause): void {
    this.inhibits.delete(cause);
  }

  protected change(next: Settings): void {
    const now = this.settings;
    this.remainder = this.carriedRemainder(next);
    this.settings = next;
    // A guard that is set anew forgets nothing, but is not shut outright; the same one goes on as it was.
    const isSameGuard =
      now.guardBudgetStrokes === next.guardBudgetStrokes &&
      now.guardPeriodMicros === next.guardPeriodMicros &&
      now.guardBurstStrokes === next.guardBurstStrokes;
    if (!isSameGuard) {
      this.guardLevel = Math.min(this.guardLevel, (next.guardBurstStrokes - 1) * next.guardPeriodMicros);
    }
    this.giveUp("limit", this.owed - next.owedLimitStrokes);
  }

  protected closeLine(): void {
    if (this.lineClosed) return;
    if (this.nowMicros - this.lineSinceMicros >= this.settings.openMicros) this.lineArmed = true;
    this.lineClosed = true;
    this.lineSinceMicros = this.nowMicros;
  }

  protected openLine(): void {
    if (!this.lineClosed) return;
    this.lineClosed = false;
    this.lineSinceMicros = this.nowMicros;
  }

  protected closureCountsMicros(): Micros {
    return this.lineClosed && this.lineArmed ? this.lineSinceMicros + this.settings.closedMicros : Infinity;
  }

  protected graceEndMicros(): Micros {
    return this.owed > 0 ? this.contactMicros + this.settings.graceMicros : Infinity;
  }

  protected primeEndMicros(): Micros {
    return this.priming ? this.primeSinceMicros + this.settings.longestPrimeMicros : Infinity;
  }

  private deadlineMicros(): Micros {
    return Math.min(this.graceEndMicros(), this.primeEndMicros(), this.closureCountsMicros());
  }

  /** What ends or qualifies by itself up to `untilMicros`, in the order of its time; found at `atMicros`. */
  private passDeadlines(untilMicros: Micros, atMicros: Micros): void {
    this.nowMicros = atMicros;
    for (;;) {
      const dueMicros = this.deadlineMicros();
      if (dueMicros > untilMicros) return;
      if (dueMicros === this.graceEndMicros()) this.giveUp("still", this.owed);
      else if (dueMicros === this.primeEndMicros()) this.priming = false;
      else {
        this.lineArmed = false;
        this.takeContact(dueMicros);
      }
    }
  }

  powerOff(): void {
    this.priming = false;
    this.pressed = false;
  }

  /** `darkMicros` is how long it was dark; undefined where it cannot know. */
  powerOn(atMicros: Micros, darkMicros: Micros | undefined): void {
    this.nowMicros = atMicros;
    this.strokeMicros = atMicros;
    this.lineSinceMicros = atMicros;
    // No clock ran in the dark: what the guard remembers is taken to be all still there.
    this.guardMicros = atMicros;
    if (darkMicros === undefined) this.contactMicros = -Infinity;
    if (!this.isFreshAfterDark()) this.giveUp("power", this.owed);
    this.passDeadlines(atMicros, atMicros);
    this.tellAccounts();
  }

  protected isFreshAfterDark(): boolean {
    return this.nowMicros < this.contactMicros + this.settings.graceMicros;
  }
}
