/**
 * Which meter and which pump? From what was given to `--meter` and `--pump` to ends that can be started. Harness layer.
 *
 * A device that is both is opened once: then both have the same specification. Nothing strokes by being opened.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { openExec } from "../devices/exec.js";
import { openSerial } from "../devices/serial.js";
import { openTcp } from "../devices/tcp.js";
import { realClock } from "../link/bench-clock.js";
import { type BenchClock, type Transport, TransportError } from "../link/transport.js";
import { FieldError, type Meter, type Pump } from "./field.js";
import type { LineBinding } from "./line-port.js";
import { openLines } from "./lines.js";
import { openLinked } from "./linked.js";
import { mockMeter, mockPump } from "./mock.js";
import { type FieldSpec, readFieldSpec, specFault } from "./spec.js";

export { FIELD_SPECS } from "./spec.js";

export interface FieldOptions {
  readonly clock?: BenchClock;
  /** The least time between two strokes, where it is known: no pulse is longer than half of it. */
  readonly leastSpacingMicros?: Micros;
  /** Of the calendar, in µs since 1970: what the mock meter counts by. */
  readonly wallMicros?: () => Micros;
  /** What opens ports for their modem-control lines; that of this machine. */
  readonly lineBinding?: LineBinding;
}

/** What stands at one specification. */
interface Ends {
  readonly meter?: Meter;
  readonly pump?: Pump;
}

const MICROS_PER_MILLI = 1_000;
const NONCE_RANGE = 65_535;

/**
 * Opens the meter. Rejects with an InputError for a specification that cannot be, with a {@link FieldError} for a port
 * or device that fails.
 */
export async function openMeter(spec: string, options: FieldOptions = {}): Promise<Meter> {
  const read = readFieldSpec("--meter", spec);
  return endOf((await openEnds(spec, read, ["meter"], options)).meter, spec);
}

/** Opens the pump; rejects as {@link openMeter} does. */
export async function openPump(spec: string, options: FieldOptions = {}): Promise<Pump> {
  const read = readFieldSpec("--pump", spec);
  return endOf((await openEnds(spec, read, ["pump"], options)).pump, spec);
}

/** Opens both, once where the specifications are equal; rejects as {@link openMeter} does, with neither left open. */
export async function openField(
  specs: { readonly meter: string; readonly pump: string },
  options: FieldOptions = {},
): Promise<{ readonly meter: Meter; readonly pump: Pump }> {
  const read = readFieldSpec("--meter", specs.meter);
  const readPump = readFieldSpec("--pump", specs.pump);
  if (specs.meter === specs.pump) {
    const ends = await openEnds(specs.meter, read, ["meter", "pump"], options);
    return { meter: endOf(ends.meter, specs.meter), pump: endOf(ends.pump, specs.pump) };
  }
  if (read.form === "lines" && readPump.form === "lines" && read.path === readPump.path) {
    throw specFault("--pump", specs.pump, "is the port of --meter in other words", "give both the same");
  }
  const meter = await openMeter(specs.meter, options);
  try {
    return { meter, pump: await openPump(specs.pump, options) };
  } catch (error) {
    await meter.close();
    throw error;
  }
}

async function openEnds(
  spec: string,
  read: FieldSpec,
  wanted: readonly ("meter" | "pump")[],
  options: FieldOptions,
): Promise<Ends> {
  const clock = options.clock ?? realClock;
  if (read.form === "mock") {
    const wallMicros = options.wallMicros ?? (() => Date.now() * MICROS_PER_MILLI);
    return { meter: mockMeter({ spec, pace: read.pace, clock, wallMicros }), pump: mockPump(spec) };
  }
  if (read.form === "lines") {
    const { leastSpacingMicros, lineBinding } = options;
    return openLines(spec, read, wanted, { clock, leastSpacingMicros, lineBinding });
  }
  const transport = await openTransport(read).catch((error: unknown) => {
    if (!(error instanceof TransportError)) throw error;
    throw new FieldError({ kind: "unplugged", message: error.message, mend: error.mend });
  });
  // So that no answer to a feed before this one is taken for ours.
  const nonce = process.pid % NONCE_RANGE;
  const ends = await openLinked(spec, transport, wanted, { clock, nonce });
  const missing = wanted.find((end) => ends[end] === undefined);
  if (missing === undefined) return ends;
  await ends.close();
  throw new FieldError({
    kind: "refused",
    message: `${spec} has no ${missing}`,
    mend: `give another as --${missing}`,
  });
}

function openTransport(read: Extract<FieldSpec, { form: "serial" | "exec" | "tcp" }>): Promise<Transport> {
  switch (read.form) {
    case "serial":
      return openSerial(read.place);
    case "exec":
      return openExec(read.place);
    case "tcp":
      return openTcp(read.host, read.port);
  }
}

function endOf<End>(end: End | undefined, spec: string): End {
  if (end !== undefined) return end;
  throw new Error(`${spec} was opened without the end that was wanted`);
}
