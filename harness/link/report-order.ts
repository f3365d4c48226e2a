/**
 * Which reports are new, and is one missing? LINK.md, section 3: numbers of reports. Harness layer.
 *
 * Every report is handed on once, in order. Where each tells the whole, as a plant's register does, one that is lost is
 * passed over; else nothing is handed on past a gap.
 */
import { type DeviceLine, NUMBER_MOST } from "./message.js";

/** A report of a run. */
export type Report = Extract<DeviceLine, { readonly kind: "report" }>;
/** A report of what stands in the plant. */
export type PlantReport = Report | Extract<DeviceLine, { readonly kind: "register" }>;

const HALF_NUMBERS = 32_768;

export class ReportOrder {
  private last = 0;
  private hasGap = false;
  private isEachWhole = false;
  private tell: ((report: PlantReport) => void) | undefined;
  /** Those that nobody listens to yet. */
  private early: PlantReport[] = [];

  /** `failed` is told what the listener throws. */
  constructor(private readonly failed: (error: Error) => void) {}

  /** Number of the first one that is missing. */
  get lost(): number | undefined {
    return this.hasGap ? (this.last % NUMBER_MOST) + 1 : undefined;
  }

  listen(tell: ((report: PlantReport) => void) | undefined): void {
    this.tell = tell;
    for (const report of this.early.splice(0)) this.handOn(report);
  }

  /** The next is one more than `last`; what came before and was not listened to is kept. */
  startAfter(last: number, isEachWhole: boolean): void {
    this.last = last;
    this.isEachWhole = isEachWhole;
    this.hasGap = false;
  }

  /** Forgets what nobody listened to. */
  forgetEarly(): void {
    this.early = [];
  }

  /** The missing one has been asked for. */
  mending(): void {
    this.hasGap = false;
  }

  /** Takes a report; false for one that is not new, or that comes after one that is missing. */
  take(report: PlantReport): boolean {
    const ahead = this.aheadOf(report.report);
    if (ahead === 0) return false;
    if (ahead > 1 && !this.isEachWhole) {
      this.hasGap = true;
      return false;
    }
    this.last = report.report;
    if (this.tell === undefined) this.early.push(report);
    else this.handOn(report);
    return true;
  }

  /** An answer said that this is the last one that was sent. */
  sentUpTo(last: number): void {
    if (this.aheadOf(last) > 0 && !this.isEachWhole) this.hasGap = true;
  }

  private handOn(report: PlantReport): void {
    try {
      this.tell?.(report);
    } catch (error) {
      this.failed(error instanceof Error ? error : new Error(String(error)));
    }
  }

  /** How many reports are new up to number `report`: none for a repeated one. */
  private aheadOf(report: number): number {
    if (report === 0) return 0;
    const ahead = (report - this.last + NUMBER_MOST) % NUMBER_MOST;
    return ahead < HALF_NUMBERS ? ahead : 0;
  }
}
