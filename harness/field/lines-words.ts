/**
 * What must whoever wires a contact and a relay to the modem-control lines of a port know? Harness layer.
 *
 * That both outputs are raised as a port is opened, and dropped as it is closed, is what Linux does
 * (drivers/tty/tty_port.c; HUPCL of POSIX termios); other systems were not looked at. The wiring is common practice,
 * no source.
 */
import type { LinesSpec } from "./spec.js";

const millis = (micros: number): string => `${micros / 1_000} ms`;
const rate = (micros: number): string => `${Math.round(1_000_000 / micros)} times a second`;

export function contactCautions({ contact, pollMicros, supply }: LinesSpec): readonly string[] {
  const line = (contact ?? "").toUpperCase();
  const fed = supply === undefined ? "" : `; ${supply.toUpperCase()} is kept on to feed it`;
  return [
    `the contact on ${line} is looked at every ${millis(pollMicros)} (${rate(pollMicros)}), later on a busy machine: a closure or an opening shorter than that can be missed, so the whole bounce must be over within the qualifying times${fed}`,
    "there is no register: contacts while this program is not running are not counted, nor one that was closed when it began",
    "wire only an isolated contact of extra-low voltage to the port, never mains",
  ];
}

export function strokeCautions({ stroke = "rts", pulseMicros, supply }: LinesSpec): readonly string[] {
  const line = stroke.toUpperCase();
  const other = stroke === "rts" ? "DTR" : "RTS";
  const mend =
    supply === undefined
      ? `wire the relay between ${line} and ${other}, which rise and drop together but for a stroke, or power the pump last`
      : "power the pump last";
  return [
    `a stroke is a pulse of ${millis(pulseMicros)} on ${line}, longer on a busy machine: the pump must make one stroke a closure, however long`,
    `the system raises RTS and DTR as the port is opened, which a relay on ${line} alone takes for a stroke: ${mend}`,
    "both drop, and the relay with them, when the port is closed, unplugged or the program dies; check that yours does before any solution is connected",
    "the line works an isolating relay that a few milliamperes can drive, and the relay only the pump's extra-low voltage input: never its mains",
    "the pump tells nothing: no stroke is known to have been made, and after a crash the last one is uncertain",
  ];
}
