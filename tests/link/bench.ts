/**
 * The bench's end in few words, and a clock that goes on only as it is told. Test support.
 */
import type { StartRun } from "../../harness/device.js";
import { MOCK_PROFILE } from "../../harness/devices/mock.js";
import { runModel } from "../../harness/devices/model.js";
import { newDeviceEnd } from "../../harness/link/device-end.js";
import type { DeviceProfile } from "../../harness/link/device-end-profile.js";
import { BYTES_MOST_FROM_DEVICE, checkedLine, newLineReader } from "../../harness/link/line.js";
import { type DeviceLine, formatRequest, parseDeviceLine, type Request } from "../../harness/link/message.js";
import type { BenchClock } from "../../harness/link/transport.js";

export interface BenchOptions {
  readonly profile?: DeviceProfile;
  readonly start?: StartRun;
  readonly clock?: BenchClock;
}

/** A device and what it says. Throws for a line of the device that is not whole, too long or means nothing. */
export class Bench {
  /** Everything that came, as it was on the wire. */
  text = "";
  private came: DeviceLine[] = [];
  private readonly end;
  private number = 0;

  constructor({ profile = MOCK_PROFILE, start = runModel, clock }: BenchOptions = {}) {
    const reader = newLineReader(BYTES_MOST_FROM_DEVICE);
    this.end = newDeviceEnd(
      start,
      profile,
      (bytes) => {
        this.text += Buffer.from(bytes).toString("latin1");
        for (const line of reader.push(bytes)) {
          if (!line.ok || !line.checked) throw new Error(JSON.stringify(line));
          const read = parseDeviceLine(line.text);
          if ("fault" in read) throw new Error(read.fault);
          this.came.push(read);
        }
      },
      clock,
    );
    this.heard();
  }

  /** What has come since it was last asked. */
  heard(): DeviceLine[] {
    return this.came.splice(0);
  }

  /** Sends bytes as they are; tells what came of them. */
  raw(text: string | Uint8Array): DeviceLine[] {
    this.end.take(typeof text === "string" ? Buffer.from(text, "latin1") : text);
    return this.heard();
  }

  /** Sends texts as checked lines, in one piece. */
  lines(...texts: readonly string[]): DeviceLine[] {
    return this.raw(texts.map(checkedLine).join(""));
  }

  /** Asks with the next number. */
  ask(request: Request): DeviceLine[] {
    this.number = request.verb === "hello" ? 0 : (this.number % 65_535) + 1;
    return this.lines(formatRequest({ number: this.number, request }));
  }

  /** Asks for each in words without numbers; tells the answer to the last, as text. */
  say(...requests: readonly string[]): string {
    let last = "";
    for (const request of requests) {
      this.number = request.startsWith("hello ") ? 0 : (this.number % 65_535) + 1;
      const from = this.text.length;
      this.lines(`${this.number} ${request}`);
      last = textsOf(this.text.slice(from)).at(-1) ?? "";
    }
    return last;
  }

  /** The texts of the lines that came since `from`, a length of {@link text}. */
  since(from: number): string[] {
    return textsOf(this.text.slice(from));
  }

  close(): void {
    this.end.close();
  }
}

function textsOf(wire: string): string[] {
  return wire
    .split("\n")
    .slice(0, -1)
    .map((line) => line.replace(/\*....$/, ""));
}

/** Time that goes on only as told, and by `readMicros` whenever it is looked at, as it does where work takes time. */
export class VirtualClock implements BenchClock {
  private micros = 0;
  private timers: { readonly atMicros: number; readonly act: () => void }[] = [];

  constructor(private readonly readMicros = 0) {}

  /** How many are waiting. */
  get waiting(): number {
    return this.timers.length;
  }

  nowMicros(): number {
    this.micros += this.readMicros;
    return this.micros;
  }

  after(micros: number, act: () => void): () => void {
    const timer = { atMicros: this.micros + micros, act };
    this.timers.push(timer);
    return () => {
      this.timers = this.timers.filter((each) => each !== timer);
    };
  }

  goTo(micros: number): void {
    for (;;) {
      const [next] = this.timers.sort((a, b) => a.atMicros - b.atMicros);
      if (next === undefined || next.atMicros > micros) break;
      this.timers.shift();
      this.micros = Math.max(this.micros, next.atMicros);
      next.act();
    }
    this.micros = Math.max(this.micros, micros);
  }
}
