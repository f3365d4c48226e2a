/**
 * A serial port with two sides behind the interface of the serial port library's bindings: what the program does to its
 * modem-control lines is seen, and what it sees of them is made. Test support.
 *
 * As the kernel does, it raises both outputs when it is opened and drops them when it is closed.
 */
import type { InputLines, LineBinding, OutputLines } from "../../harness/field/line-port.js";
import type { BenchClock } from "../../harness/link/transport.js";

export interface LineChange extends OutputLines {
  readonly atMicros: number;
}

export class TwoSided implements LineBinding {
  /** Every state of the outputs, from opening on. */
  readonly changes: LineChange[] = [];
  isOpen = false;
  /** How often it was opened with its lock, and to drop its lines when it is closed. */
  opened: { readonly lock: boolean; readonly hupcl: boolean }[] = [];
  looks = 0;
  /** What happens to reading and setting the lines: nothing, a failure, or no end; `blind` fails reading alone. */
  trouble: "none" | "unplugged" | "stuck" | "blind" = "none";
  private inputs: InputLines = { cts: false, dsr: false, dcd: false };

  constructor(private readonly clock: BenchClock) {}

  /** The far side makes its contact. */
  make(lines: Partial<InputLines>): void {
    this.inputs = { ...this.inputs, ...lines };
  }

  /** The outputs as they are. */
  get outputs(): OutputLines {
    const { rts = false, dtr = false } = this.changes.at(-1) ?? {};
    return { rts, dtr };
  }

  open(options: { readonly lock: boolean; readonly hupcl: boolean }): ReturnType<LineBinding["open"]> {
    if (this.isOpen)
      return Promise.reject(new Error("Error Resource temporarily unavailable Cannot lock port"));
    this.isOpen = true;
    this.opened.push({ lock: options.lock, hupcl: options.hupcl });
    this.change({ rts: true, dtr: true });
    return Promise.resolve({
      get: () => {
        this.looks += 1;
        if (this.trouble === "blind")
          return Promise.reject(new Error("Error: Input/output error, cannot get"));
        return this.does(() => this.inputs);
      },
      set: ({ rts, dtr }) =>
        this.does(() => {
          this.change({ rts, dtr });
        }),
      close: () => {
        this.isOpen = false;
        this.change({ rts: false, dtr: false });
        return Promise.resolve();
      },
    });
  }

  /** From on to off of one output, in µs, for all of its pulses after opening. */
  pulses(line: keyof OutputLines): { readonly atMicros: number; readonly micros: number }[] {
    const found: { atMicros: number; micros: number }[] = [];
    let since: number | undefined;
    for (const change of this.changes.slice(1)) {
      if (change[line]) since ??= change.atMicros;
      else if (since !== undefined) {
        found.push({ atMicros: since, micros: change.atMicros - since });
        since = undefined;
      }
    }
    return found;
  }

  private does<Value>(act: () => Value): Promise<Value> {
    if (!this.isOpen) return Promise.reject(new Error("Port is not open"));
    if (this.trouble === "stuck") return new Promise(() => undefined);
    if (this.trouble === "unplugged")
      return Promise.reject(new Error("Error: Input/output error, cannot get"));
    return Promise.resolve(act());
  }

  private change(lines: OutputLines): void {
    this.changes.push({ atMicros: this.clock.nowMicros(), ...lines });
  }
}
