/**
 * How are a meter's contacts turned into a pump's strokes, live? The engine of `drive`. Harness layer.
 *
 * Invariants: nothing is asked of the pump that is not in the journal; one stroke is under way at a time, and the next
 * comes at the earliest one least spacing after the pump said that it began; a contact is in the journal before the
 * register goes on from it; once the feed is ending, no stroke is asked for. What fails, and how it ends: end.ts.
 */
import type { Subscription } from "rxjs";
import { type Micros, MINUTE } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { FieldFault, Meter, MeterEvent, Pump } from "../field/field.js";
import { JournalError } from "../journal/fault.js";
import type { Journal } from "../journal/store.js";
import { type DriveClock, type JournalTime, journalTime } from "./clock.js";
import { type Contacts, countContacts } from "./contacts.js";
import { type FeedEnd, INHIBIT_OF } from "./end.js";
import { type Keeper, startKeeper } from "./keeper.js";
import { type LivePacer, livePacer, type LiveInput } from "./pacer.js";
import { primeKey, RELEASE_MICROS } from "./prime.js";
import type { Restart, StartTrouble } from "./restart.js";
import { type DoseTerms, statusOf } from "./stand.js";
import type { DriveControls, DriveStatus, Trouble } from "./status.js";
import { PATIENCE_MICROS, type PumpHand, pumpHand, type Stroke } from "./stroke.js";
import { BEAT_MILLIS, type Look, lookTroubles, watchClocks } from "./watch.js";

export interface FeedParts {
  readonly meter: Meter;
  readonly pump: Pump;
  readonly journal: Journal;
  readonly clock: DriveClock;
  readonly from: Restart;
  /** The register that the journal has; undefined where it has none. */
  readonly register: number | undefined;
  readonly dose: DoseTerms | undefined;
  /** Told after everything that has changed the status, and at each beat. */
  readonly onChange: () => void;
  /** Told what has been kept, in order. */
  readonly onEvents: (events: readonly TraceEvent[]) => void;
  readonly onTrouble: (trouble: Trouble) => void;
}

export class Feed implements DriveControls {
  /** Never rejects. */
  readonly ended: Promise<FeedEnd>;
  private readonly pacer: LivePacer;
  private readonly hand: PumpHand;
  private readonly key = primeKey();
  private readonly watch: () => Look;
  private beat: Subscription | undefined;
  private readonly time: JournalTime;
  private readonly contacts: Contacts;
  private readonly keeper: Keeper;
  private onFailed = (error: unknown): void => {
    this.journalFailed(error);
  };
  private troubles: Trouble[] = [];
  private strokeMicros: Micros[] = [];
  /** Keys of prime before it were pressed while nothing could be done: the hand may be gone by now. */
  private deafUntilMicros: Micros = -Infinity;
  private isLooking = false;
  private isEnding = false;
  private lost: "meter" | "pump" | undefined;
  private resolveEnd: (end: FeedEnd) => void = () => undefined;

  /** The run is already begun in the journal, and both ends are started; the meter's ears are {@link hear}. */
  constructor(private readonly parts: FeedParts) {
    const { clock, from, pump } = parts;
    this.ended = new Promise((resolve) => {
      this.resolveEnd = resolve;
    });
    this.time = journalTime(clock, from.state.nowMicros);
    this.contacts = countContacts(parts.register, {
      batch: (act) => {
        this.keeper.together(() => {
          act((input) => {
            if (!this.isEnding) this.pacer.give(input);
          });
        });
      },
      keepRegister: () => {
        this.keeper.flush();
      },
      tell: (trouble) => {
        this.tell(trouble);
      },
      graceMicros: () => this.pacer.state().settings.graceMicros,
      nowMicros: this.time.nowMicros,
    });
    this.contacts.missSome(from.unheardMicros);
    this.watch = watchClocks(clock);
    this.hand = pumpHand(pump, clock.scheduler, {
      made: () => {
        this.made();
      },
      failed: (fault) => {
        this.fail(fault.kind === "silent" ? "not-acknowledged" : "pump-lost", fault);
      },
    });
    this.pacer = livePacer(from.state, {
      scheduler: clock.scheduler,
      nowMicros: this.time.nowMicros,
      beforeWake: () => {
        this.look();
      },
      onStep: (events) => {
        this.keep(events);
      },
      onError: (error) => {
        this.journalFailed(error);
      },
    });
    this.keeper = startKeeper({
      journal: parts.journal,
      uncertain: from.uncertain,
      number: from.number,
      state: () => this.pacer.state(),
      register: () => this.contacts.register,
      underWay: () => this.hand.underWay,
      onKept: (events) => {
        parts.onEvents(events);
        parts.onChange();
      },
      onFailed: (error) => {
        this.onFailed(error);
      },
    });
    this.awaitBeat();
    for (const trouble of from.troubles) this.tell(trouble);
  }

  /** An input that is neither the meter's nor a person's, such as new settings at a start. */
  give(input: LiveInput): void {
    if (this.isEnding) return;
    this.look();
    this.pacer.give(input);
    this.parts.onChange();
  }

  hear(event: MeterEvent): void {
    if (this.isEnding) return;
    if (event.kind !== "register") {
      this.give(event);
      return;
    }
    this.look();
    this.contacts.hear(event.contacts);
    this.parts.onChange();
  }

  lose(end: "meter" | "pump", fault: FieldFault): void {
    this.lost ??= end;
    this.fail(end === "meter" ? "meter-lost" : "pump-lost", fault);
  }

  readonly prime = (): void => {
    if (this.isEnding) return;
    this.look();
    const nowMicros = this.time.nowMicros();
    if (nowMicros < this.deafUntilMicros || !this.key.press(nowMicros)) return;
    this.give({ kind: "prime-on" });
    this.awaitRelease();
  };

  readonly hold = (on: boolean): void => {
    this.give({ kind: on ? "hold-on" : "hold-off" });
  };

  readonly reset = (): void => {
    this.give({ kind: "reset" });
  };

  readonly quit = (): void => {
    this.end("asked at the terminal");
  };

  /** The feed ends in order; `why` is what the journal says of it. */
  end(why: string): void {
    void this.finish({ kind: "asked", why });
  }

  status(): DriveStatus {
    const { meter, pump, journal, dose } = this.parts;
    const nowMicros = this.time.nowMicros();
    const { strokeMicros, troubles } = this;
    const isAhead = troubles.some(({ kind }) => kind === "journal") && this.isEnding;
    return statusOf(isAhead ? this.keeper.kept() : this.pacer.state(), {
      elapsedMicros: this.time.elapsedMicros(),
      meter: { spec: meter.about.spec, name: meter.about.name, isLost: this.lost === "meter" },
      pump: { spec: pump.about.spec, name: pump.about.name, isLost: this.lost === "pump" },
      journal: journal.folder,
      uncertain: this.parts.from.uncertain,
      troubles,
      strokeMicros,
      nowMicros,
      dose,
    });
  }

  /** What has happened is kept; only then is a stroke among it asked for. */
  private keep(events: readonly TraceEvent[]): void {
    const stroke = this.keeper.take(events);
    if (stroke === undefined) return;
    const nowMicros = this.time.nowMicros();
    this.strokeMicros = [...this.strokeMicros.filter((at) => at > nowMicros - MINUTE), nowMicros];
    // No other may come near it while nobody knows when it begins.
    this.pacer.space(nowMicros + PATIENCE_MICROS);
    this.hand.ask(stroke);
  }

  private made(): void {
    const nowMicros = this.time.nowMicros();
    this.keeper.safely((journal) => {
      journal.acknowledge(nowMicros);
    });
    // It began at the latest now: from here the next one keeps its spacing.
    this.pacer.space(nowMicros);
  }

  private awaitRelease(): void {
    const untilMicros = this.key.untilMicros;
    if (untilMicros === undefined || this.isEnding) return;
    this.parts.clock.scheduler.schedule(
      () => {
        this.look();
        this.awaitRelease();
      },
      Math.max(1, Math.ceil((untilMicros - this.time.nowMicros()) / 1_000)),
    );
  }

  private awaitBeat(): void {
    this.beat = this.parts.clock.scheduler.schedule(() => {
      this.look();
      this.contacts.beat();
      this.keeper.beat();
      this.parts.onChange();
      if (!this.isEnding) this.awaitBeat();
    }, BEAT_MILLIS);
  }

  private look(): void {
    if (this.isLooking || this.isEnding) return;
    this.isLooking = true;
    const seen = this.watch();
    if (seen.sleptMicros !== undefined) this.awake(seen.sleptMicros);
    if (this.key.isLetGo(this.time.nowMicros())) this.pacer.letGo();
    const unheardMicros = (seen.sleptMicros ?? 0) + (seen.stalledMicros ?? 0);
    if (unheardMicros > 0) {
      this.contacts.fallBehind(unheardMicros);
      this.deafUntilMicros = this.time.nowMicros() + RELEASE_MICROS;
    }
    for (const trouble of lookTroubles(seen)) this.tell(trouble);
    this.isLooking = false;
  }

  private awake(sleptMicros: Micros): void {
    this.time.skip(sleptMicros);
    this.key.clear();
    this.pacer.sleep();
    if (this.hand.underWay !== undefined) this.pacer.space(this.time.nowMicros() + PATIENCE_MICROS);
  }

  /** The last of each kind stands. */
  private tell({ kind, words }: StartTrouble): void {
    const trouble = { kind, words, atMicros: this.time.elapsedMicros() };
    this.troubles = [...this.troubles.filter((other) => other.kind !== kind), trouble];
    this.keeper.safely((journal) => {
      journal.note(kind, words, this.time.nowMicros());
    });
    this.parts.onTrouble(trouble);
    this.parts.onChange();
  }

  private fail(kind: keyof typeof INHIBIT_OF, fault: FieldFault): void {
    if (this.isEnding) return;
    // A stroke that is due at this moment is not made any more.
    this.pacer.space(this.time.nowMicros());
    this.pacer.give({ kind: "inhibit-on", cause: INHIBIT_OF[kind] });
    const doubt = this.hand.underWay === undefined ? "" : ` ${this.doubt(this.hand.underWay)}`;
    const words = `${fault.message}. Strokes have stopped.${doubt} Mend: ${fault.mend}, and start again with the same command.`;
    this.tell({ kind, words });
    void this.finish({ kind, why: words });
  }

  private doubt({ number }: Stroke): string {
    return this.parts.pump.keepsNumber
      ? `Whether stroke ${number} was made is asked of the pump at the next start.`
      : `Stroke ${number} may or may not have been made: it counts as made and is not repeated.`;
  }

  private journalFailed(error: unknown): void {
    if (this.isEnding) return;
    const words = journalWords(error);
    const trouble: Trouble = { kind: "journal", words, atMicros: this.time.elapsedMicros() };
    this.troubles = [...this.troubles, trouble];
    void this.finish({ kind: "journal", why: words });
    this.parts.onTrouble(trouble);
  }

  private async finish(end: FeedEnd): Promise<void> {
    if (this.isEnding) return;
    this.isEnding = true;
    this.pacer.stop();
    this.beat?.unsubscribe();
    await this.hand.settled();
    const { journal, meter, pump } = this.parts;
    const last = end.kind === "journal" ? end : this.close(this.withDoubt(end));
    journal.close();
    await Promise.all([meter.close(), pump.close()]);
    this.parts.onChange();
    this.resolveEnd(last);
  }

  /** An end that was asked for is none in order where the last stroke was not acknowledged. */
  private withDoubt(end: FeedEnd): FeedEnd {
    const open = this.hand.underWay;
    if (end.kind !== "asked" || open === undefined) return end;
    const words = `The pump did not acknowledge the last stroke. ${this.doubt(open)}`;
    this.tell({ kind: "not-acknowledged", words });
    return { kind: "not-acknowledged", why: words };
  }

  /** The last that is written; where that fails, it is how the feed ended. */
  private close(end: FeedEnd): FeedEnd {
    let last = end;
    this.onFailed = (error) => {
      last = { kind: "journal", why: journalWords(error) };
    };
    this.keeper.beat();
    this.keeper.safely((journal) => {
      journal.end(end.kind === "asked" ? end.why : end.kind, this.time.nowMicros());
    });
    return last;
  }
}

function journalWords(error: unknown): string {
  const what = error instanceof JournalError ? error.message : `This program has a defect: ${String(error)}.`;
  return `${what} Strokes have stopped.`;
}
