/**
 * A contact and a relay on the modem-control lines of a serial port. Harness layer.
 *
 * The contact is looked at again and again, and told as raw edges; a stroke is a pulse. Both outputs are idle from
 * opening to closing but for the pulse, and whatever fails, they are dropped before anything else. No register and no
 * number is kept.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { BenchClock } from "../link/transport.js";
import {
  FieldError,
  type FieldEars,
  type FieldFault,
  type Meter,
  type MeterEvent,
  type Pump,
} from "./field.js";
import { contactCautions, strokeCautions } from "./lines-words.js";
import { type LineBinding, openLinePort } from "./line-port.js";
import { LineWatch } from "./line-watch.js";
import { type LinesSpec, specFault } from "./spec.js";

export interface LinesOptions {
  readonly clock: BenchClock;
  readonly leastSpacingMicros?: Micros | undefined;
  readonly lineBinding?: LineBinding | undefined;
}

export interface LinesEnds {
  readonly meter?: Meter;
  readonly pump?: Pump;
  close(): Promise<void>;
}

/** Opens the port and drops its lines. Rejects with an InputError or a {@link FieldError}, the port closed. */
export async function openLines(
  spec: string,
  read: LinesSpec,
  wanted: readonly ("meter" | "pump")[],
  { clock, leastSpacingMicros, lineBinding }: LinesOptions,
): Promise<LinesEnds> {
  checkLines(spec, read, wanted, leastSpacingMicros);
  const port = await openLinePort(read.path, lineBinding);
  const watch = new LineWatch(spec, port, read, clock);
  await watch.begin();
  const open = new Set(wanted);
  const letGo = async (end: "meter" | "pump"): Promise<void> => {
    if (open.delete(end) && open.size === 0) await watch.close();
  };
  return {
    ...(wanted.includes("meter") && { meter: lineMeter(spec, read, watch, () => letGo("meter")) }),
    ...(wanted.includes("pump") && { pump: linePump(spec, read, watch, () => letGo("pump")) }),
    close: () => watch.close(),
  };
}

/** Throws an InputError for lines that cannot be what is wanted of them. */
function checkLines(
  spec: string,
  { contact, stroke, pulseMicros }: LinesSpec,
  wanted: readonly ("meter" | "pump")[],
  leastSpacingMicros: Micros | undefined,
): void {
  if (wanted.includes("meter") && contact === undefined) {
    throw specFault("--meter", spec, "names no line for the contact", "add contact=cts, dsr or dcd");
  }
  if (!wanted.includes("pump")) return;
  if (stroke === undefined) {
    throw specFault("--pump", spec, "names no line for the stroke", "add stroke=rts or dtr");
  }
  if (leastSpacingMicros === undefined || 2 * pulseMicros <= leastSpacingMicros) return;
  const most = Math.floor(leastSpacingMicros / 2_000);
  throw specFault(
    "--pump",
    spec,
    `has a pulse of ${pulseMicros / 1_000} ms, longer than half of the least spacing`,
    `give pulse=${most}ms or less, or a lower cap`,
  );
}

function lineMeter(spec: string, read: LinesSpec, watch: LineWatch, letGo: () => Promise<void>): Meter {
  let ears: FieldEars<MeterEvent> | undefined;
  return {
    about: { spec, name: `contact on ${read.path}`, cautions: contactCautions(read) },
    keepsRegister: false,
    start(given) {
      const fault = watch.join(given);
      if (fault !== undefined) return Promise.reject(new FieldError(fault));
      ears = given;
      watch.listen((isClosed) => {
        given.hear({ kind: isClosed ? "close" : "open" });
      });
      return Promise.resolve();
    },
    async close() {
      watch.listen(undefined);
      watch.leave(ears);
      await letGo();
    },
  };
}

function linePump(spec: string, read: LinesSpec, watch: LineWatch, letGo: () => Promise<void>): Pump {
  let ear: { readonly lost: (fault: FieldFault) => void } | undefined;
  let isClosed = false;
  return {
    about: { spec, name: `relay on ${read.path}`, cautions: strokeCautions(read) },
    keepsNumber: false,
    start(given) {
      const fault = watch.join(given);
      if (fault !== undefined) return Promise.reject(new FieldError(fault));
      ear = given;
      return Promise.resolve();
    },
    lastStroke: () => Promise.resolve(undefined),
    async stroke() {
      if (ear === undefined || isClosed) {
        throw new FieldError({
          kind: "refused",
          message: `the relay at ${spec} is not in use`,
          mend: "open and start it first",
        });
      }
      await watch.pulse();
    },
    async close() {
      if (isClosed) return;
      isClosed = true;
      watch.leave(ear);
      await watch.drop();
      await letGo();
    },
  };
}
