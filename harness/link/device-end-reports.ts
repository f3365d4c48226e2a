/**
 * Which number does a report of the device bear, and which can be had again? LINK.md, section 3.
 *
 * Harness layer. Keeps the last of them, as many as the profile says, up to twice as many for a moment.
 */
import { type DeviceLine, formatDeviceLine, NUMBER_MOST } from "./message.js";

export class DeviceReports {
  private lastNumber = 0;
  private kept: string[] = [];

  constructor(
    private readonly keep: number,
    private readonly sendText: (text: string) => void,
  ) {}

  /** Number of the last one sent, 0 if there is none. */
  get last(): number {
    return this.lastNumber;
  }

  /** Sends the report that `make` makes with the next number. */
  send(make: (report: number) => DeviceLine): void {
    this.lastNumber = (this.lastNumber % NUMBER_MOST) + 1;
    const text = formatDeviceLine(make(this.lastNumber));
    if (this.keep > 0) this.kept.push(text);
    // Now and then many at once: to move them all for each would be slow.
    if (this.kept.length > 2 * this.keep) this.kept = this.kept.slice(-this.keep);
    this.sendText(text);
  }

  /** Sends those from number `first` on once more; false if it is no longer kept, or not yet sent. */
  again(first: number): boolean {
    const back = (this.lastNumber - first + NUMBER_MOST) % NUMBER_MOST;
    if (back >= Math.min(this.kept.length, this.keep)) return false;
    for (const text of this.kept.slice(-back - 1)) this.sendText(text);
    return true;
  }

  /** The next one is number 1. */
  forget(): void {
    this.lastNumber = 0;
    this.kept = [];
  }
}
