/**
 * Which meter and which pump? From what was given to `--meter` and `--pump` to ends that can be started. Harness layer.
 *
 * A device that is both is opened once: then both have the same specification. Nothing strokes by being opened.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { realClock } from "../link/bench-clock.js";
import type { BenchClock } from "../link/transport.js";
import { FieldError, type Meter, type Pump } from "./field.js";
import { mockMeter, mockPump } from "./mock.js";
import { type FieldSpec, readFieldSpec } from "./spec.js";

export { FIELD_SPECS } from "./spec.js";

export interface FieldOptions {
  readonly clock?: BenchClock;
  /** The least time between two strokes, where it is known: no pulse is longer than half of it. */
  readonly leastSpacingMicros?: Micros;
  /** Of the calendar, in µs since 1970: what the mock meter counts by. */
  readonly wallMicros?: () => Micros;
}

/** What stands at one specification. */
interface Ends {
  readonly meter?: Meter;
  readonly pump?: Pump;
}

const MICROS_PER_MILLI = 1_000;

/**
 * Opens the meter. Rejects with an InputError for a specification that cannot be, with a {@link FieldError} for a port
 * or device that fails.
 */
export async function openMeter(spec: string, options: FieldOptions = {}): Promise<Meter> {
  const read = readFieldSpec("--meter", spec);
  return meterOf(await openEnds(spec, read, ["meter"], options), spec);
}

/** Opens the pump; rejects as {@link openMeter} does. */
export async function openPump(spec: string, options: FieldOptions = {}): Promise<Pump> {
  const read = readFieldSpec("--pump", spec);
  return pumpOf(await openEnds(spec, read, ["pump"], options), spec);
}

/** Opens both, once where the specifications are equal; rejects as {@link openMeter} does, with neither left open. */
export async function openField(
  specs: { readonly meter: string; readonly pump: string },
  options: FieldOptions = {},
): Promise<{ readonly meter: Meter; readonly pump: Pump }> {
  const read = readFieldSpec("--meter", specs.meter);
  readFieldSpec("--pump", specs.pump);
  if (specs.meter === specs.pump) {
    const ends = await openEnds(specs.meter, read, ["meter", "pump"], options);
    return { meter: meterOf(ends, specs.meter), pump: pumpOf(ends, specs.pump) };
  }
  const meter = await openMeter(specs.meter, options);
  try {
    return { meter, pump: await openPump(specs.pump, options) };
  } catch (error) {
    await meter.close();
    throw error;
  }
}

function openEnds(
  spec: string,
  read: FieldSpec,
  wanted: readonly ("meter" | "pump")[],
  options: FieldOptions,
): Promise<Ends> {
  const clock = options.clock ?? realClock;
  if (read.form === "mock") {
    const wallMicros = options.wallMicros ?? (() => Date.now() * MICROS_PER_MILLI);
    return Promise.resolve({
      meter: mockMeter({ spec, pace: read.pace, clock, wallMicros }),
      pump: mockPump(spec),
    });
  }
  return Promise.reject(new Error(`${spec} cannot be opened as ${wanted.join(" and ")} yet`));
}

function meterOf({ meter }: Ends, spec: string): Meter {
  if (meter !== undefined) return meter;
  throw new FieldError({ kind: "refused", message: `${spec} has no meter`, mend: "give another as --meter" });
}

function pumpOf({ pump }: Ends, spec: string): Pump {
  if (pump !== undefined) return pump;
  throw new FieldError({ kind: "refused", message: `${spec} has no pump`, mend: "give another as --pump" });
}
