/**
 * Which device is meant? From what was given to `--device` to a device that has greeted. Harness layer.
 */
import type { Settings } from "../../lib/pacing/index.js";
import { InputError } from "../files/fault.js";
import { connect, type ConnectOptions, DeviceError } from "../link/client.js";
import { type Transport, TransportError } from "../link/transport.js";
import type { Device } from "../device.js";
import { openAvr } from "./avr.js";
import { openExec } from "./exec.js";
import { openMockTransport } from "./mock.js";
import { modelDevice } from "./model-device.js";
import { openSerial } from "./serial.js";
import { openTcp } from "./tcp.js";

/** The forms of a device specification, and what each means. */
export const DEVICE_SPECS: readonly (readonly [form: string, meaning: string])[] = [
  ["model", "the library's own pacer, in this process"],
  ["mock", "a virtual controller behind a mock serial port"],
  ["serial:PATH", "a controller or a fixture on a serial port, 115,200 baud"],
  ["tcp:HOST:PORT", "one behind a raw TCP serial server"],
  ["exec:COMMAND", "a program that speaks the link, on a pseudo-terminal"],
  ["avr", "our firmware on an emulated microcontroller, in virtual time"],
  ["avr:FILE.hex", "the same with another image"],
  ["avr:fixture", "our fixture wired to our controller, both emulated"],
];

export interface OpenOptions extends ConnectOptions {
  /** What a controller that is set by hand is set to, where that is ours to do. */
  readonly settings?: Settings;
}

/** Rejects with an InputError for a bad specification, with a {@link DeviceError} for a port or device that fails. */
export async function openDevice(spec: string, options: OpenOptions = {}): Promise<Device> {
  if (spec === "model") return modelDevice();
  if (spec === "avr" || /^avr:./.test(spec)) {
    const { transport, clock } = openAvr(spec, options.settings);
    return connect(transport, { clock, ...options });
  }
  const open = transportFor(spec);
  // So that no answer to a run before this one is taken for ours.
  const nonce = spec === "mock" ? 0 : process.pid % 65_535;
  let transport: Transport;
  try {
    transport = await open();
  } catch (error) {
    if (!(error instanceof TransportError)) throw error;
    throw new DeviceError({ kind: "unplugged", message: error.message, mend: error.mend });
  }
  return connect(transport, { nonce, ...options });
}

function transportFor(spec: string): () => Promise<Transport> {
  if (spec === "mock") return () => openMockTransport();
  const [, form, rest] = /^(serial|tcp|exec):(.+)$/s.exec(spec) ?? [];
  if (form === "serial" && rest !== undefined) return () => openSerial(rest);
  if (form === "exec" && rest !== undefined) return () => openExec(rest);
  const [, host, digits] = /^\[?(.+?)\]?:(\d{1,5})$/.exec(rest ?? "") ?? [];
  const port = Number(digits);
  if (form === "tcp" && host !== undefined && port >= 1 && port <= 65_535) return () => openTcp(host, port);
  throw new InputError([
    {
      field: "--device",
      fault: `"${spec}" names no device`,
      mend: `give ${DEVICE_SPECS.map(([each]) => each).join(", ")}`,
    },
  ]);
}
