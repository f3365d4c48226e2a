/**
 * The device's end of the link, written once: bytes in, bytes out, for any controller that runs in this process.
 *
 * Harness layer; LINK.md says what it does. Here are lines, numbers and answers; what requests do is in
 * device-end-session.ts. Whatever comes, it answers and never throws.
 */
import type { StartRun } from "../device.js";
import type { DeviceProfile } from "./device-end-profile.js";
import { DeviceSession } from "./device-end-session.js";
import { BYTES_MOST_TO_DEVICE, checkedLine, type Line, type LineReader, newLineReader } from "./line.js";
import {
  type DeviceLine,
  formatDeviceLine,
  NUMBER_MOST,
  type NumberedRequest,
  parseRequest,
  type RequestFault,
} from "./message.js";
import type { BenchClock } from "./transport.js";

export interface DeviceEnd {
  /** Takes what the bench sent. What comes of it has been sent when this returns. */
  take(bytes: Uint8Array): void;
  /** Ends a run that is on, and stops the clock, if it has one. */
  close(): void;
}

/** Starts a device, which says so at once; with `clock` it can run freely too. */
export function newDeviceEnd(
  start: StartRun,
  profile: DeviceProfile,
  send: (bytes: Uint8Array) => void,
  clock?: BenchClock,
): DeviceEnd {
  const sendText = (text: string): void => {
    send(Buffer.from(checkedLine(text), "latin1"));
  };
  const end = new LineEnd(new DeviceSession(start, profile, sendText, clock), profile.window, sendText);
  sendText(formatDeviceLine({ kind: "boot", name: profile.name }));
  return end;
}

/** Requests up to so much older than the last are late repetitions. */
const OLD_MOST = 32;

interface Answered {
  readonly number: number;
  readonly text: string;
}

class LineEnd implements DeviceEnd {
  private readonly reader: LineReader = newLineReader(BYTES_MOST_TO_DEVICE);
  /** Number of the last request that was answered; undefined before the first `hello`, when only that is expected. */
  private lastNumber: number | undefined;
  /** The last answers to numbered requests, at most as many as may be under way. */
  private answered: Answered[] = [];
  private wantsChecks = false;

  constructor(
    private readonly session: DeviceSession,
    private readonly window: number,
    private readonly sendText: (text: string) => void,
  ) {}

  take(bytes: Uint8Array): void {
    for (const line of this.reader.push(bytes)) this.takeLine(line);
  }

  close(): void {
    this.session.endRun();
  }

  private get expected(): number {
    return this.lastNumber === undefined ? 0 : (this.lastNumber % NUMBER_MOST) + 1;
  }

  private takeLine(line: Line): void {
    this.session.heard();
    if (!line.ok) this.refuse(line.fault);
    else if (!line.checked && this.wantsChecks) this.refuse("check");
    else {
      this.wantsChecks ||= line.checked;
      this.takeRequest(parseRequest(line.text, line.checked), line.checked);
    }
  }

  private takeRequest(read: NumberedRequest | RequestFault, checked: boolean): void {
    const { number } = read;
    if (number === undefined && checked) this.refuse("word");
    else if ("fault" in read && read.fault === "order") this.refuse("order", `${this.expected}`);
    else if (number === undefined || number === 0) this.answer(read);
    else if (number === this.expected) {
      this.answer(read);
      this.lastNumber = number;
    } else this.takeUnexpected(number, read);
  }

  private takeUnexpected(number: number, read: NumberedRequest | RequestFault): void {
    const repeated = this.answered.find((each) => each.number === number);
    if (repeated !== undefined) {
      this.sendText(repeated.text);
      this.heedBye(read);
    } else if (
      this.lastNumber === undefined ||
      this.lastNumber === 0 ||
      !this.isOld(number, this.lastNumber)
    ) {
      this.refuse("order", `${this.expected}`);
    }
  }

  private isOld(number: number, last: number): boolean {
    return (last - number + NUMBER_MOST) % NUMBER_MOST <= OLD_MOST;
  }

  private answer(read: NumberedRequest | RequestFault): void {
    const { number } = read;
    if ("request" in read && read.request.verb === "hello") {
      this.lastNumber = 0;
      this.answered = [];
    }
    const line: DeviceLine =
      "fault" in read ? { kind: "no", number, reason: read.fault, words: "" } : this.session.answer(read);
    const text = formatDeviceLine(line);
    if (number !== undefined && number > 0) {
      this.answered.push({ number, text });
      if (this.answered.length > this.window) this.answered.shift();
    }
    this.sendText(text);
    this.heedBye(read);
  }

  /** A person may type again. */
  private heedBye(read: NumberedRequest | RequestFault): void {
    if ("request" in read && read.request.verb === "bye") this.wantsChecks = false;
  }

  private refuse(reason: "check" | "long" | "byte" | "order" | "word", words = ""): void {
    this.sendText(formatDeviceLine({ kind: "no", number: undefined, reason, words }));
  }
}
