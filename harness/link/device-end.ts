/**
 * The device's end of the link, written once: bytes in, bytes out, for any controller that runs in this process.
 *
 * Harness layer; LINK.md says what it does. Here are lines, numbers and answers; what requests do is in
 * device-end-session.ts. Whatever comes, it answers and never throws.
 */
import type { StartRun } from "../devices/device.js";
import type { DeviceProfile } from "./device-end-profile.js";
import { newDeviceSession } from "./device-end-session.js";
import { BYTES_MOST_TO_DEVICE, checkedLine, type Line, newLineReader } from "./line.js";
import {
  type DeviceLine,
  formatDeviceLine,
  NUMBER_MOST,
  parseRequest,
  type RequestNumber,
} from "./message.js";
import type { BenchClock } from "./transport.js";

export interface DeviceEnd {
  /** Takes what the bench sent. What comes of it has been sent when this returns. */
  take(bytes: Uint8Array): void;
  /** Stops the clock, if it has one. */
  close(): void;
}

/** Requests up to so much older than the last are late repetitions. */
const OLD_MOST = 32;

/** Starts a device, which says so at once; with `clock` it can run freely too. */
export function newDeviceEnd(
  start: StartRun,
  profile: DeviceProfile,
  send: (bytes: Uint8Array) => void,
  clock?: BenchClock,
): DeviceEnd {
  const reader = newLineReader(BYTES_MOST_TO_DEVICE);
  const sendText = (text: string): void => {
    send(Buffer.from(checkedLine(text), "latin1"));
  };
  const session = newDeviceSession(start, profile, sendText, clock);
  // The last request that was answered; undefined before the first `hello`, when only that is expected: its number is 0.
  let lastNumber: number | undefined;
  let lastAnswer = "";
  let wantsChecks = false;

  const refuse = (reason: "check" | "long" | "byte" | "order" | "word", words = ""): void => {
    sendText(formatDeviceLine({ kind: "no", number: undefined, reason, words }));
  };
  const isNext = (number: number): boolean => {
    const expected = lastNumber === undefined ? 0 : (lastNumber % NUMBER_MOST) + 1;
    if (number === expected) return true;
    if (lastNumber === undefined || number === 0) refuse("order", `${expected}`);
    else if (number === lastNumber) sendText(lastAnswer);
    else if ((lastNumber - number + NUMBER_MOST) % NUMBER_MOST > OLD_MOST) refuse("order", `${expected}`);
    return false;
  };
  const answer = (line: DeviceLine, number: RequestNumber): void => {
    const text = formatDeviceLine(line);
    if (number !== undefined && number > 0) {
      lastNumber = number;
      lastAnswer = text;
    }
    sendText(text);
  };
  const takeText = (text: string, checked: boolean): void => {
    const read = parseRequest(text, checked);
    const { number } = read;
    if (checked && number === undefined) {
      refuse("word");
      return;
    }
    const isHello = "request" in read && read.request.verb === "hello";
    const isBadHello = "fault" in read && number === 0 && read.fault !== "order";
    if (number !== undefined && !isHello && !isBadHello && !isNext(number)) return;
    if ("fault" in read) {
      const reason = read.fault;
      answer({ kind: "no", number, reason, words: "" }, number);
      return;
    }
    if (isHello) lastNumber = 0;
    answer(session.answer(read), number);
    if (read.request.verb === "bye") wantsChecks = false;
  };
  const takeLine = (line: Line): void => {
    session.heard();
    if (!line.ok) refuse(line.fault);
    else if (!line.checked && wantsChecks) refuse("check");
    else {
      wantsChecks ||= line.checked;
      takeText(line.text, line.checked);
    }
  };

  sendText(formatDeviceLine({ kind: "boot", name: profile.name }));
  return {
    take(bytes) {
      for (const line of reader.push(bytes)) takeLine(line);
    },
    close: session.close,
  };
}
