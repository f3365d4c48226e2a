/**
 * What does an ATmega328P at 16 MHz do with this image, cycle by cycle? Harness layer; no clock, no I/O, no chance.
 *
 * Instructions, Timer1, the UART and the ports are avr8js's; ours is the sleep, which it leaves out, and what the part does
 * just after SEI and RETI: one more instruction before the next interrupt (data sheet, "Reset and Interrupt Handling").
 * Without it firmware that looks for work with interrupts off and then sleeps would sleep through what came meanwhile.
 */
import {
  avrInstruction,
  AVRIOPort,
  AVRTimer,
  AVRUSART,
  CPU,
  portBConfig,
  portDConfig,
  timer1Config,
  usart0Config,
} from "avr8js";

export const CYCLES_PER_SECOND = 16_000_000;
export const FLASH_BYTES = 32_768;
export const RAM_BYTES = 2_048;

const SLEEP = 0x9588;
const SEI = 0x9478;
const RETI = 0x9518;
/** Sleep mode control register, and the bit without which SLEEP does nothing. */
const SMCR = 0x53;
const SLEEP_ENABLED = 1;

/** Where the directions of a port's pins are. */
const DDR = { B: portBConfig.DDR, D: portDConfig.DDR };

/** What avr8js keeps to itself, and a sleep and the UART's true ways need. */
interface CpuInside {
  readonly nextClockEvent: { readonly cycles: number } | null;
}
interface UartInside {
  readonly UDRE: { constant?: boolean };
  readonly cyclesPerChar: number;
}

/** A pin of port B or D, such as `PB0`. */
export type Pin = `P${"B" | "D"}${0 | 1 | 2 | 3 | 4 | 5 | 6 | 7}`;

export interface PinChange {
  readonly cycle: number;
  readonly pin: Pin;
  readonly isHigh: boolean;
}

export class Machine {
  readonly cpu: CPU;
  /** Told each byte as the firmware hands it to the UART. */
  onByte: (byte: number) => void = () => undefined;
  /** Told each change of a pin that the firmware drives. */
  onPin: (change: PinChange) => void = () => undefined;
  /** Since the start. */
  sentBytes = 0;
  private readonly uart: AVRUSART;
  private readonly ports: { readonly B: AVRIOPort; readonly D: AVRIOPort };
  private received: number[] = [];
  private sentAtCycle = 0;
  private isAsleep = false;

  /** `flash` is as {@link FLASH_BYTES} long; all pins are pulled up from outside, as open contacts are. */
  constructor(flash: Uint8Array) {
    this.cpu = new CPU(new Uint16Array(flash.slice().buffer), RAM_BYTES);
    new AVRTimer(this.cpu, timer1Config);
    this.uart = new AVRUSART(this.cpu, usart0Config, CYCLES_PER_SECOND);
    this.ports = { B: new AVRIOPort(this.cpu, portBConfig), D: new AVRIOPort(this.cpu, portDConfig) };
    // The register stays empty until it is written: a handler that finds nothing to send must not end all sending.
    this.uartInside.UDRE.constant = true;
    this.uart.onByteTransmit = (byte) => {
      this.sentAtCycle = this.cpu.cycles + this.cyclesPerByte;
      this.onByte(byte);
      this.sentBytes += 1;
    };
    this.uart.onRxComplete = () => {
      const next = this.received.shift();
      if (next !== undefined) this.uart.writeByte(next);
    };
    for (const [letter, port] of Object.entries(this.ports) as ["B" | "D", AVRIOPort][]) {
      for (let bit = 0; bit < 8; bit++) port.setPin(bit, true);
      port.addListener((value, old) => {
        this.tellPins(letter, value, old);
      });
    }
  }

  get cycle(): number {
    return this.cpu.cycles;
  }

  /** Asleep, with no byte on its way in or out: only the timer, or a pin, can wake it. */
  get isIdle(): boolean {
    return (
      this.isAsleep &&
      this.cpu.cycles >= this.sentAtCycle &&
      this.dueCycle > this.cpu.cycles &&
      !this.uart.rxBusy &&
      this.received.length === 0
    );
  }

  /** The earliest cycle at which it does something by itself. */
  get nextCycle(): number {
    return this.isAsleep ? this.dueCycle : this.cpu.cycles;
  }

  /** Sends bytes to the UART, one after the other at its own rate. */
  feed(bytes: Iterable<number>): void {
    this.received.push(...bytes);
    if (this.uart.rxBusy) return;
    const first = this.received.shift();
    // A receiver that is switched off hears nothing.
    if (first !== undefined && this.uart.writeByte(first) !== true) this.received = [];
  }

  setPin(pin: Pin, isHigh: boolean): void {
    this.ports[pin[1] as "B" | "D"].setPin(Number(pin[2]), isHigh);
  }

  /** Lets time go on to `untilCycle`, or until it is idle. */
  runUntilIdle(untilCycle: number): void {
    while (this.cpu.cycles < untilCycle && !this.isIdle) this.step(untilCycle);
  }

  /** Lets time go on to `untilCycle`, or until it sends a byte. */
  runUntilByte(untilCycle: number): void {
    const { sentBytes } = this;
    while (this.cpu.cycles < untilCycle && this.sentBytes === sentBytes) this.step(untilCycle);
  }

  /** Lets time go on to `untilCycle`: past it by the cycles of the last instruction at most. */
  run(untilCycle: number): void {
    while (this.cpu.cycles < untilCycle) this.step(untilCycle);
  }

  /** One instruction; of a sleep, all up to the next event. */
  private step(untilCycle: number): void {
    const { cpu } = this;
    if (this.isAsleep) {
      this.sleepOn(untilCycle);
      return;
    }
    const opcode = cpu.progMem[cpu.pc];
    avrInstruction(cpu);
    if (opcode === SEI || opcode === RETI) return;
    if (opcode === SLEEP && ((cpu.data[SMCR] ?? 0) & SLEEP_ENABLED) !== 0) this.isAsleep = true;
    else cpu.tick();
  }

  private sleepOn(untilCycle: number): void {
    const { cpu } = this;
    cpu.cycles = Math.max(cpu.cycles, Math.min(this.dueCycle, untilCycle));
    const { pc } = cpu;
    cpu.tick();
    // It stays asleep until an interrupt takes it elsewhere.
    this.isAsleep = cpu.pc === pc;
  }

  /** When something can wake it next; not in the future if something does already. */
  private get dueCycle(): number {
    const { cpu } = this;
    if (cpu.nextInterrupt >= 0 && cpu.interruptsEnabled) return cpu.cycles;
    return (cpu as unknown as CpuInside).nextClockEvent?.cycles ?? Infinity;
  }

  private get uartInside(): UartInside {
    return this.uart as unknown as UartInside;
  }

  private get cyclesPerByte(): number {
    return this.uartInside.cyclesPerChar;
  }

  private tellPins(letter: "B" | "D", value: number, old: number): void {
    for (let bit = 0; bit < 8; bit++) {
      const mask = 1 << bit;
      // A pull-up that is switched on is no level that the firmware drives.
      if ((value & mask) === (old & mask) || ((this.cpu.data[DDR[letter]] ?? 0) & mask) === 0) continue;
      this.onPin({ cycle: this.cpu.cycles, pin: `P${letter}${bit}` as Pin, isHigh: (value & mask) !== 0 });
    }
  }
}
