/**
 * How are a meter's contacts turned into a pump's strokes, live? The engine of `drive`. Harness layer.
 *
 * Invariants: nothing is asked of the pump that is not in the journal; one stroke is under way at a time, and the next
 * comes at the earliest one least spacing after the pump said that it began; a contact is in the journal before the
 * register goes on from it; once the feed is ending, no stroke is asked for. What fails, and how it ends: end.ts.
 */
import type { Subscription } from "rxjs";
import { type Micros, restoreSnapshot, SECOND, step, takeSnapshot } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import type { FieldFault, Meter, MeterEvent, Pump } from "../field/field.js";
import { countedOn } from "../field/register.js";
import { JournalError } from "../journal/fault.js";
import type { Journal } from "../journal/store.js";
import { type DriveClock, type JournalTime, journalTime } from "./clock.js";
import { type Contacts, countContacts } from "./contacts.js";
import { type FeedEnd, INHIBIT_OF } from "./end.js";
import { type LivePacer, livePacer, type LiveInput } from "./pacer.js";
import { primeKey } from "./prime.js";
import type { Restart, StartTrouble } from "./restart.js";
import { type DoseTerms, statusOf } from "./stand.js";
import type { DriveControls, DriveStatus, Trouble } from "./status.js";
import { PATIENCE_MICROS, pumpHand, type Stroke } from "./stroke.js";
import { unmadeState } from "./under-way.js";
import { BEAT_MILLIS, type Look, lookTroubles, watchClocks } from "./watch.js";

/** Edges that change nothing are kept together until a beat, or so many. */
const EDGES_MOST = 256;
/** So long are the moments of strokes remembered, for the rate. */
const RATE_MICROS = 60 * SECOND;

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
  private readonly hand: ReturnType<typeof pumpHand>;
  private readonly key = primeKey();
  private readonly watch: () => Look;
  private beat: Subscription | undefined;
  private readonly time: JournalTime;
  private readonly contacts: Contacts;
  private readonly uncertain: number;
  /** Of the last stroke that was asked for. */
  private number: number;
  private troubles: Trouble[] = [];
  private strokeMicros: Micros[] = [];
  private waiting: TraceEvent[] = [];
  private isBatch = false;
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
        this.batch(act);
      },
      keepRegister: () => {
        this.commit();
      },
      tell: (trouble) => {
        this.tell(trouble);
      },
      graceMicros: () => this.pacer.state().settings.graceMicros,
    });
    this.contacts.missSome(from.unheardMicros);
    this.uncertain = from.uncertain;
    this.number = from.number;
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
    if (!this.key.press(this.time.nowMicros())) return;
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
    const { uncertain, strokeMicros, troubles } = this;
    return statusOf(this.pacer.state(), {
      elapsedMicros: this.time.elapsedMicros(),
      meter: { spec: meter.about.spec, name: meter.about.name, isLost: this.lost === "meter" },
      pump: { spec: pump.about.spec, name: pump.about.name, isLost: this.lost === "pump" },
      journal: journal.folder,
      uncertain,
      troubles,
      strokeMicros,
      nowMicros,
      dose,
    });
  }

  /** Keeps what has happened; only then is a stroke among it asked for. */
  private keep(events: readonly TraceEvent[]): void {
    const made = events.find(({ kind }) => kind === "paced" || kind === "primed");
    this.waiting.push(...events);
    const isQuiet = events.length === 1 && (events[0]?.kind === "close" || events[0]?.kind === "open");
    if (made === undefined && (this.isBatch || (isQuiet && this.waiting.length < EDGES_MOST))) return;
    const cause = made?.kind as Stroke["cause"] | undefined;
    const stroke = cause === undefined ? undefined : { number: countedOn(this.number, 1), cause };
    if (!this.commit(stroke) || stroke === undefined) return;
    this.number = stroke.number;
    const nowMicros = this.time.nowMicros();
    this.strokeMicros = [...this.strokeMicros.filter((at) => at > nowMicros - RATE_MICROS), nowMicros];
    // No other may come near it while nobody knows when it begins.
    this.pacer.resume({ ...this.pacer.state(), strokeMicros: nowMicros + PATIENCE_MICROS });
    this.hand.ask(stroke);
  }

  /** Writes what waits; false where the journal failed. */
  private commit(stroke?: Stroke): boolean {
    const events = this.waiting;
    this.waiting = [];
    const state = this.pacer.state();
    const open = stroke ?? this.hand.underWay;
    const isKept = this.safely(() => {
      this.parts.journal.commit({
        events,
        state,
        register: this.contacts.register,
        uncertain: this.uncertain,
        number: stroke?.number ?? this.number,
        unmade: open === undefined ? undefined : unmadeState(state, open.cause),
        ...(stroke === undefined ? {} : { stroke }),
      });
    });
    if (isKept && events.length > 0) {
      this.parts.onEvents(events);
      this.parts.onChange();
    }
    return isKept;
  }

  private made(): void {
    const nowMicros = this.time.nowMicros();
    this.safely(() => {
      this.parts.journal.acknowledge(nowMicros);
    });
    // It began at the latest now: from here the next one keeps its spacing.
    this.pacer.resume({ ...this.pacer.state(), strokeMicros: nowMicros });
  }

  private batch(act: (give: (input: LiveInput) => void) => void): void {
    this.isBatch = true;
    act((input) => {
      if (!this.isEnding) this.pacer.give(input);
    });
    this.isBatch = false;
    if (this.waiting.length > 0) this.commit();
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
      if (this.waiting.length > 0) this.commit();
      else {
        this.safely(() => {
          this.parts.journal.alive();
        });
      }
      this.parts.onChange();
      if (!this.isEnding) this.awaitBeat();
    }, BEAT_MILLIS);
  }

  private look(): void {
    if (this.isLooking || this.isEnding) return;
    this.isLooking = true;
    const seen = this.watch();
    if (seen.sleptMicros !== undefined) this.awake(seen.sleptMicros);
    if (this.key.isLetGo(this.time.nowMicros())) this.release();
    for (const trouble of lookTroubles(seen)) this.tell(trouble);
    this.isLooking = false;
  }

  /** Ends prime as of the last step, so that a release that is seen late lets no stroke through. */
  private release(): void {
    const s = this.pacer.state();
    const { state, effects } = step(s, { kind: "prime-off", atMicros: s.nowMicros });
    this.pacer.resume(state);
    this.keep([{ kind: "prime-off", atMicros: s.nowMicros }, ...effects]);
  }

  /** The machine slept: as far as water and pump are concerned, the power was off. */
  private awake(sleptMicros: Micros): void {
    const s = this.pacer.state();
    this.time.skip(sleptMicros);
    this.key.clear();
    const nowMicros = this.time.nowMicros();
    const restored = restoreSnapshot(s.settings, takeSnapshot(s), nowMicros, nowMicros - s.nowMicros);
    if (!restored.ok) throw new Error(`a snapshot of a live pacer was refused: ${restored.refusal}`);
    const isBusy = this.hand.underWay !== undefined;
    this.pacer.resume(
      isBusy ? { ...restored.state, strokeMicros: nowMicros + PATIENCE_MICROS } : restored.state,
    );
    this.contacts.missSome(sleptMicros);
    this.keep([
      { kind: "power-off", atMicros: s.nowMicros },
      { kind: "power-on", atMicros: nowMicros, darkKnown: true },
      ...restored.effects,
    ]);
  }

  /** The last of each kind stands. */
  private tell({ kind, words }: StartTrouble): void {
    const trouble = { kind, words, atMicros: this.time.elapsedMicros() };
    this.troubles = [...this.troubles.filter((other) => other.kind !== kind), trouble];
    this.safely(() => {
      this.parts.journal.note(kind, words, this.time.nowMicros());
    });
    this.parts.onTrouble(trouble);
    this.parts.onChange();
  }

  private fail(kind: keyof typeof INHIBIT_OF, fault: FieldFault): void {
    if (this.isEnding) return;
    this.pacer.give({ kind: "inhibit-on", cause: INHIBIT_OF[kind] });
    const open = this.hand.underWay;
    const doubt =
      open === undefined ? "" : ` Stroke ${open.number} is open: the next start asks the pump for it.`;
    const words = `${fault.message}. Strokes have stopped.${doubt} Mend: ${fault.mend}, and start again with the same command.`;
    this.tell({ kind, words });
    void this.finish({ kind, why: words });
  }

  /** Does something to the journal; false where it failed, and then the feed has stopped. */
  private safely(act: () => void): boolean {
    try {
      act();
      return true;
    } catch (error) {
      this.journalFailed(error);
      return false;
    }
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
    const last = end.kind === "journal" ? end : this.closing(end);
    journal.close();
    await Promise.all([meter.close(), pump.close()]);
    this.parts.onChange();
    this.resolveEnd(last);
  }

  /** The last that is written; where that fails, it is how the feed ended. */
  private closing(end: FeedEnd): FeedEnd {
    try {
      if (this.waiting.length > 0) this.commit();
      this.parts.journal.end(end.kind === "asked" ? end.why : end.kind, this.time.nowMicros());
      return end;
    } catch (error) {
      return { kind: "journal", why: journalWords(error) };
    }
  }
}

function journalWords(error: unknown): string {
  const what = error instanceof JournalError ? error.message : `This program has a defect: ${String(error)}.`;
  return `${what} Strokes have stopped.`;
}
