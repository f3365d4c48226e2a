/**
 * What contacts earn, what is owed, what was given up, and telling it: the books of the gallery's controller. Test support.
 */
import type { Micros, Settings, ShedCause } from "../../lib/pacing/index.js";
import type { ResponseEvent } from "../../lib/trace/index.js";

export type Tell = (event: ResponseEvent) => void;

export class Accounts {
  protected remainder = 0;
  protected owed = 0;
  protected earned = 0;
  protected paced = 0;
  protected primed = 0;
  protected shed = 0;

  constructor(
    protected settings: Settings,
    protected nowMicros: Micros,
    private readonly sink: Tell,
  ) {}

  /** The whole strokes that one contact earns; the part of one that is left over is kept. */
  protected earn(): number {
    const { strokes, contacts } = this.settings;
    const paid = this.remainder + strokes;
    this.remainder = paid % contacts;
    return (paid - this.remainder) / contacts;
  }

  protected keepWithinLimit(): void {
    this.giveUp("limit", this.owed - this.settings.owedLimitStrokes);
  }

  protected giveUp(cause: ShedCause, strokes: number): void {
    if (strokes <= 0) return;
    this.owed -= strokes;
    this.shed += strokes;
    this.tell({ kind: "shed", atMicros: this.nowMicros, cause, strokes });
  }

  protected increasesTooMuch(next: Settings): boolean {
    const now = this.settings;
    return next.strokes * now.contacts > now.largestIncrease * now.strokes * next.contacts;
  }

  protected carriedRemainder(next: Settings): number {
    return Math.floor((this.remainder * next.contacts) / this.settings.contacts);
  }

  protected tell(event: ResponseEvent): void {
    this.sink(event);
  }

  protected tellAccounts(): void {
    const { earned, paced, primed, owed, shed, remainder, nowMicros: atMicros } = this;
    this.tell({ kind: "status", atMicros, earned, paced, primed, owed, shed, remainder });
  }
}
