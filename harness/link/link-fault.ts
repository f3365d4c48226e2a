/**
 * How does a failure of the other end travel within the bench? As an error that carries the fault; `run` turns it into
 * a value. Harness layer.
 */
import type { DeviceFault } from "../devices/device.js";

const MENDS: { readonly [kind in DeviceFault["kind"]]: string } = {
  silent: "check power, wiring and speed, and that the device speaks the link",
  unplugged: "plug it in again and start anew",
  restarted: "look for what resets the device: its supply, a watchdog, the port being opened",
  "lost-report": "let the device keep its last reports, or use a shorter or slower line",
  refused: "mend the device so that it does what its greeting says",
  nonsense: "compare what the device sends with LINK.md",
  flood: "look for a loop in the device that sends without being asked",
  late: "leave more time between inputs, or give the device a longer queue",
  failed: "look at the device itself",
  "given-up": "run it again",
};

export class LinkFault extends Error {
  override readonly name = "LinkFault";
  readonly fault: DeviceFault;

  constructor(kind: DeviceFault["kind"], message: string, mend: string = MENDS[kind]) {
    super(message);
    this.fault = { kind, message, mend };
  }
}
