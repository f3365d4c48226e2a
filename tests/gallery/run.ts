/**
 * What wakes the gallery's controllers, cuts their power and writes down what they do: a `StartRun` of one. Test support.
 */
import type { Micros, Settings } from "../../lib/pacing/index.js";
import type { StartRun } from "../../harness/device.js";
import type { Tell } from "./accounts.js";
import { Controller } from "./controller.js";

export type ControllerClass = new (settings: Settings, startMicros: Micros, tell: Tell) => Controller;

/** A main loop that has just gone round comes round again after so long, whatever is still due. */
const LOOP_MICROS: Micros = 10_000;

/** The controller behind the seam of runs in virtual time. */
export function runOf(Firmware: ControllerClass = Controller): StartRun {
  return (settings, sink, { startMicros = 0, lateness = () => 0 } = {}) => {
    const controller = new Firmware(settings, startMicros, sink);
    let darkSinceMicros: Micros | undefined;
    let doneMicros = startMicros - LOOP_MICROS;

    const askedMicros = (): Micros => {
      const next = controller.nextMicros();
      return next > doneMicros ? next : doneMicros + LOOP_MICROS;
    };
    const wakeUntil = (untilMicros: Micros): void => {
      for (;;) {
        const asked = askedMicros();
        const atMicros = asked + (asked === Infinity ? 0 : lateness(asked));
        if (!(atMicros <= untilMicros)) return;
        controller.wake(atMicros);
        doneMicros = atMicros;
      }
    };

    return {
      give(event) {
        const { atMicros } = event;
        if (darkSinceMicros === undefined) {
          wakeUntil(atMicros);
          if (askedMicros() <= atMicros) controller.wake(atMicros);
          doneMicros = atMicros;
        }
        sink(event);
        if (event.kind === "power-on") {
          if (darkSinceMicros === undefined) return;
          controller.powerOn(atMicros, event.darkKnown ? atMicros - darkSinceMicros : undefined);
          darkSinceMicros = undefined;
          doneMicros = atMicros;
        } else if (darkSinceMicros !== undefined) return;
        else if (event.kind === "power-off") {
          darkSinceMicros = atMicros;
          controller.powerOff();
        } else if (event.kind === "wake") controller.wake(atMicros);
        else controller.take(event);
      },
      end(untilMicros) {
        if (darkSinceMicros === undefined) wakeUntil(untilMicros);
      },
    };
  };
}
