/**
 * A meter and a pump with nothing plugged in: invented, in this process, and they say so. Harness layer.
 *
 * The meter's register follows the calendar, so that it has counted on when the program comes back. The pump knows its
 * number only as long as the program runs, and so says that it keeps none.
 */
import type { Micros } from "../../lib/pacing/index.js";
import type { BenchClock } from "../link/transport.js";
import { FieldError, type Meter, type Pump } from "./field.js";
import { mockDay } from "./mock-day.js";
import { countedOn } from "./register.js";

const METER_CAUTION =
  "the meter is invented: its water runs through a made-up day of five minutes, and says nothing of any water";
const PUMP_CAUTION = "the pump is invented: its strokes move nothing";

export interface MockMeterOptions {
  readonly spec: string;
  /** How many times as fast the day of five minutes goes by. */
  readonly pace: number;
  readonly clock: BenchClock;
  /** Of the calendar, in µs since 1970; looked at once. */
  readonly wallMicros: () => Micros;
}

export function mockMeter({ spec, pace, clock, wallMicros }: MockMeterOptions): Meter {
  const day = mockDay(pace);
  const midnightMicros = wallMicros() - clock.nowMicros();
  let stop: () => void = () => undefined;
  return {
    about: { spec, name: "invented meter", cautions: [METER_CAUTION] },
    keepsRegister: true,
    start({ hear }) {
      const tell = (): void => {
        const nowMicros = midnightMicros + clock.nowMicros();
        hear({ kind: "register", contacts: day.registerAt(nowMicros) });
        // A timer that comes early would tell the same again, which says nothing new.
        stop = clock.after(day.nextAfter(nowMicros) - nowMicros, tell);
      };
      tell();
      return Promise.resolve();
    },
    close() {
      stop();
      return Promise.resolve();
    },
  };
}

export function mockPump(spec: string): Pump {
  let last: number | undefined;
  let isReady = false;
  return {
    about: { spec, name: "invented pump", cautions: [PUMP_CAUTION] },
    keepsNumber: false,
    start() {
      isReady = true;
      return Promise.resolve();
    },
    lastStroke: () => Promise.resolve(undefined),
    stroke(number) {
      if (!isReady)
        return Promise.reject(refusal("is not running", "start it, and open it again once closed"));
      if (last !== undefined && number !== last && number !== countedOn(last, 1)) {
        return Promise.reject(
          refusal(`made stroke ${last} last and was asked for ${number}`, "ask for one more than the last"),
        );
      }
      last = number;
      return Promise.resolve();
    },
    close() {
      isReady = false;
      return Promise.resolve();
    },
  };
}

function refusal(what: string, mend: string): FieldError {
  return new FieldError({ kind: "refused", message: `the invented pump ${what}`, mend });
}
