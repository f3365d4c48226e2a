/**
 * How does a failure of the other end travel within the bench? As an error that carries the fault; `run` turns it into
 * a value. Harness layer.
 */
import type { DeviceFault } from "../device.js";
import { type AnyRequest, formatRequest, type NumberedRequest, type Reason } from "./message.js";

const MENDS: { readonly [kind in DeviceFault["kind"]]: string } = {
  silent: "check power, wiring and speed, and that the device speaks the link",
  unplugged: "plug it in, or start its program, again; then begin anew",
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

/** What it means that a request was refused for good. */
export function refusalFault(refused: NumberedRequest<AnyRequest>, reason: Reason, words: string): LinkFault {
  const { request } = refused;
  const text = `\`${formatRequest(refused)}\``;
  if (reason === "stroke") {
    const mend = "ask the pump for its last stroke and go on from there";
    return new LinkFault("refused", `${text} was refused: the last stroke made was number ${words}`, mend);
  }
  if (reason === "late") return new LinkFault("late", `${text} came too late: the device is at ${words}`);
  if (request.verb === "again") {
    return new LinkFault("lost-report", `report ${request.report} was lost and is no longer kept`);
  }
  return new LinkFault("refused", `${text} was refused: ${words === "" ? reason : `${reason} ${words}`}`);
}
