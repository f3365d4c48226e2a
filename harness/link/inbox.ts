/**
 * Which lines came that can be used, and is it too many? Harness layer.
 *
 * A line that is damaged or without its check is passed over and remembered, for the words of a failure. More than any
 * honest device sends between two answers is a flood, and is not even read any more.
 */
import { BYTES_MOST_FROM_DEVICE, newLineReader } from "./line.js";
import type { Transport } from "./transport.js";

const BAD_LINES = {
  check: "a line whose check is wrong",
  long: `a line of more than ${BYTES_MOST_FROM_DEVICE} bytes`,
  byte: "a line that is not printable ASCII",
};

export interface InboxEars {
  readonly take: (text: string) => void;
  /** Told once. */
  readonly flooded: () => void;
}

export class Inbox {
  /** The last line since the last answer that could not be used, in words. */
  unusable: string | undefined;
  private lines = 0;
  private bytes = 0;
  private isFlooded = false;

  /** `linesMost` lines, or as many bytes as they could hold, are a flood. */
  constructor(transport: Transport, linesMost: number, ears: InboxEars) {
    const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
    transport.onBytes((bytes) => {
      this.bytes += bytes.length;
      if (this.isFlooded) return;
      for (const line of reader.push(bytes)) {
        this.lines += 1;
        if (line.ok && line.checked) ears.take(line.text);
        else this.unusable = line.ok ? "a line without its check" : BAD_LINES[line.fault];
      }
      if (this.lines <= linesMost && this.bytes <= linesMost * BYTES_MOST_FROM_DEVICE) return;
      this.isFlooded = true;
      ears.flooded();
    });
  }

  /** Counts afresh. */
  answered(): void {
    this.lines = this.bytes = 0;
    this.isFlooded = false;
    this.unusable = undefined;
  }
}
