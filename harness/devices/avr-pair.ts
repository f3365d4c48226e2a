/**
 * Two microcontrollers in one emulation: a fixture on the bench, its pins wired to those of a controller that is not. Harness layer.
 *
 * Both go on together, never further apart than some microseconds. The controller is set by hand, so to speak: typed over its own
 * line before the fixture is heard, and told something now and then, since a run that hears nothing ends by itself.
 */
import { setImmediate } from "node:timers/promises";
import type { Settings } from "../../lib/pacing/index.js";
import { InputError } from "../files/fault.js";
import type { Machine, Pin } from "../firmware/emulator/machine.js";
import { SETTING_NAMES } from "../link/setting-names.js";
import { CYCLES_PER_MICRO, type Emulation, type Stretch } from "./avr-emulation.js";

/** From an output of the fixture to a terminal of the controller: what drives its output high closes a wire to ground. */
const WIRES: ReadonlyMap<Pin, Pin> = new Map([
  ["PB1", "PD2"],
  ["PB2", "PD3"],
  ["PB3", "PD4"],
  ["PB4", "PD5"],
]);
/** The pump's pin, and where the fixture sees it. */
const STROKE: Pin = "PB0";
const STROKE_SEEN: Pin = "PD6";

/** The most that one is ahead of the other, where one is awake: 4 µs. */
const APART_CYCLES = 64;
const SLICE_CYCLES = 2_000_000;
const SECOND_CYCLES = 1_000_000 * CYCLES_PER_MICRO;
const WORD_EVERY_CYCLES = 5 * SECOND_CYCLES;

/** Wires them up and starts the controller. Throws an InputError if it does not take the settings. */
export function emulatePair(
  fixture: Machine,
  controller: Machine,
  settings: Settings,
  name: string,
): Emulation {
  const pair = new Pair(fixture, controller);
  pair.startController(settings);
  let isClosed = false;
  return {
    name,
    async settle(bytes, untilCycle) {
      fixture.feed(bytes);
      return pair.goOn(untilCycle, () => fixture.isIdle || isClosed);
    },
    advance(untilCycle) {
      const { sentBytes } = fixture;
      return pair.goOn(untilCycle, () => fixture.sentBytes > sentBytes || isClosed);
    },
    close() {
      isClosed = true;
      return Promise.resolve();
    },
  };
}

class Pair {
  private sent: number[] = [];
  private answers = "";
  private nextWordCycle = WORD_EVERY_CYCLES;

  constructor(
    private readonly fixture: Machine,
    private readonly controller: Machine,
  ) {
    fixture.onByte = (byte) => this.sent.push(byte);
    fixture.setPin(STROKE_SEEN, false);
    fixture.onPin = ({ pin, isHigh }) => {
      const terminal = WIRES.get(pin);
      if (terminal !== undefined) controller.setPin(terminal, !isHigh);
    };
    controller.onPin = ({ pin, isHigh }) => {
      if (pin === STROKE) fixture.setPin(STROKE_SEEN, isHigh);
    };
  }

  startController(settings: Settings): void {
    this.controller.onByte = (byte) => {
      this.answers += String.fromCharCode(byte);
    };
    this.controller.runUntilIdle(SECOND_CYCLES);
    for (const setting of SETTING_NAMES) this.type(`set ${setting} ${settings[setting]}`);
    this.type("begin free");
    this.controller.onByte = () => undefined;
    this.fixture.run(this.controller.cycle);
  }

  async goOn(untilCycle: number, isOver: () => boolean): Promise<Stretch> {
    for (;;) {
      const sliceCycle = Math.min(this.fixture.cycle + SLICE_CYCLES, untilCycle);
      while (this.fixture.cycle < sliceCycle && !isOver()) this.step(sliceCycle);
      if (isOver() || this.fixture.cycle >= untilCycle) break;
      await setImmediate();
    }
    const bytes = Uint8Array.from(this.sent);
    this.sent = [];
    return { cycle: this.fixture.cycle, isIdle: this.fixture.isIdle, bytes };
  }

  private step(untilCycle: number): void {
    const { fixture, controller } = this;
    const nextCycle = Math.min(fixture.nextCycle, controller.nextCycle, this.nextWordCycle);
    const endCycle = Math.min(untilCycle, Math.max(nextCycle, fixture.cycle + APART_CYCLES));
    fixture.run(endCycle);
    controller.run(endCycle);
    if (controller.cycle < this.nextWordCycle) return;
    this.nextWordCycle += WORD_EVERY_CYCLES;
    controller.feed(Buffer.from("time\n"));
  }

  private type(line: string): void {
    this.answers = "";
    this.controller.feed(Buffer.from(`${line}\n`));
    this.controller.runUntilIdle(this.controller.cycle + SECOND_CYCLES);
    if (this.answers.startsWith("ok ")) return;
    throw new InputError([
      {
        field: "--device",
        fault: `the controller answers "${this.answers.split("*")[0] ?? ""}" to "${line}"`,
        mend: "give settings that the emulated controller can be given",
      },
    ]);
  }
}
