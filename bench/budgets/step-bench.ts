/**
 * What does one step of the core cost on the part, in cycles and in stack? Bench.
 *
 * Runs steps.c on the emulator, through its box in RAM. The cycles are those from the call to the return, with both; the stack is
 * the deepest byte below the caller's that was written since the start.
 */
import { Machine } from "../../harness/firmware/emulator/machine.js";
import { KINDS } from "../../tests/firmware/twin/words.js";

/** Settings of the twin in the order of steps.c, in ticks where they are times. */
export const VALUES = [
  "strokes",
  "contacts",
  "leastSpacing",
  "cadence",
  "contactsDuringPrime",
  "owedLimit",
  "grace",
  "longestPrime",
  "primeSpacing",
  "guardBudget",
  "guardPeriod",
  "guardBurst",
  "closed",
  "open",
  "leastContact",
  "stuck",
  "silent",
  "largestIncrease",
] as const;
export type TwinSettings = { readonly [name in (typeof VALUES)[number]]: number };

export const SETTINGS_KIND = KINDS.indexOf("settings");

export interface Step {
  readonly kind: number;
  readonly detail: number;
  /** After the step before. */
  readonly afterTicks: number;
  /** For a change of settings. */
  readonly settings?: TwinSettings;
}

/** A run from the first day on. */
export interface Sequence {
  readonly settings: TwinSettings;
  readonly startTicks: number;
  readonly steps: readonly Step[];
}

const BOX = 0x100;
const AT = { command: 0, answer: 1, kind: 2, detail: 3, now: 4, wakeAt: 8, sizes: 12, values: 18 } as const;
const START = 1;
const STEP = 2;
/** General purpose I/O register 0: written just before and just after the step. */
const GPIOR0 = 0x3e;
const PAINT = 0xa5;
/** How far below the caller's stack is looked. */
const STACK_MOST = 512;
/** More than any command takes. */
const COMMAND_CYCLES = 1_000_000;

export class StepBench {
  /** The most cycles of any step so far, by the number of its input. */
  readonly mostCycles: number[] = KINDS.map(() => 0);
  private readonly machine: Machine;
  private beganCycle = 0;
  private tookCycles = 0;
  private stackTop = 0;

  constructor(flash: Uint8Array) {
    this.machine = new Machine(flash);
    const { cpu } = this.machine;
    cpu.writeHooks[GPIOR0] = (value) => {
      if (value === 0) this.tookCycles = cpu.cycles - this.beganCycle;
      else {
        this.beganCycle = cpu.cycles;
        if (this.stackTop === 0) this.paint();
      }
    };
    this.machine.run(10_000);
  }

  /** Bytes of RAM: the state with its tallies, the tallies, the settings. */
  get sizes(): { readonly state: number; readonly tally: number; readonly settings: number } {
    const { dataView } = this.machine.cpu;
    const at = (index: number): number => dataView.getUint16(BOX + AT.sizes + 2 * index, true);
    return { state: at(0), tally: at(1), settings: at(2) };
  }

  /** The deepest stack of any step so far, in bytes. */
  get stackBytes(): number {
    const { data } = this.machine.cpu;
    let free = 0;
    while (data[this.stackTop - STACK_MOST + free] === PAINT) free += 1;
    return this.stackTop === 0 ? 0 : STACK_MOST - free;
  }

  /** False if the twin refuses the settings. */
  start(settings: TwinSettings, startTicks: number): boolean {
    this.write(settings);
    return this.command(START, startTicks) === 0;
  }

  /** The cycles of a step at `nowTicks`; undefined if its settings are refused. */
  step({ kind, detail, settings }: Step, nowTicks: number): number | undefined {
    const { data } = this.machine.cpu;
    if (settings !== undefined) this.write(settings);
    data[BOX + AT.kind] = kind;
    data[BOX + AT.detail] = detail;
    this.tookCycles = 0;
    this.command(STEP, nowTicks);
    this.mostCycles[kind] = Math.max(this.mostCycles[kind] ?? 0, this.tookCycles);
    return this.tookCycles === 0 ? undefined : this.tookCycles;
  }

  /** The counter at which the last step wants the next. */
  get wakeAtTicks(): number {
    return this.machine.cpu.dataView.getUint32(BOX + AT.wakeAt, true);
  }

  private write(settings: TwinSettings): void {
    const { dataView } = this.machine.cpu;
    VALUES.forEach((name, index) => {
      dataView.setUint32(BOX + AT.values + 4 * index, settings[name], true);
    });
  }

  private command(command: number, nowTicks: number): number {
    const { cpu } = this.machine;
    cpu.dataView.setUint32(BOX + AT.now, nowTicks >>> 0, true);
    cpu.data[BOX + AT.command] = command;
    const endCycle = cpu.cycles + COMMAND_CYCLES;
    while (cpu.data[BOX + AT.command] !== 0) {
      this.machine.run(cpu.cycles + 1);
      if (cpu.cycles > endCycle) throw new Error("the step does not end");
    }
    return cpu.data[BOX + AT.answer] ?? 0;
  }

  private paint(): void {
    const { cpu } = this.machine;
    this.stackTop = cpu.SP + 1;
    cpu.data.fill(PAINT, this.stackTop - STACK_MOST, this.stackTop);
  }
}

/** The dearest step of a sequence, and where it is; undefined if the settings are refused. */
export function dearestStep(
  bench: StepBench,
  { settings, startTicks, steps }: Sequence,
): { readonly cycles: number; readonly index: number } | undefined {
  if (!bench.start(settings, startTicks)) return undefined;
  let nowTicks = startTicks;
  let dearest = { cycles: 0, index: -1 };
  for (const [index, step] of steps.entries()) {
    nowTicks = (nowTicks + step.afterTicks) >>> 0;
    const cycles = bench.step(step, nowTicks) ?? 0;
    if (cycles > dearest.cycles) dearest = { cycles, index };
  }
  return dearest;
}
