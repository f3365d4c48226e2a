/**
 * Does the emulated part sleep, wake and take interrupts as the real one does? On a program of a few instructions.
 *
 * What is expected is from the data sheet of the ATmega328P ("Reset and Interrupt Handling", "USART Data Register Empty"), from memory.
 */
import { expect, test } from "vitest";
import { FLASH_BYTES, Machine } from "../../harness/firmware/emulator/machine.js";

const START = 0x30;
/** Words of program memory from address 0 on; r16 counts the interrupts, r20 how often it woke up. */
function machineRunning(program: readonly number[]): Machine {
  const flash = new Uint16Array(FLASH_BYTES / 2).fill(0xffff);
  flash.set([0xc02f]); // rjmp START
  flash.set([0x9503, 0x9320, 0x00c1, 0x9518], 0x26); // UDRE: inc r16; sts UCSR0B, r18; reti
  flash.set([0xe028, 0xe218, 0xe031, 0xbf33, ...program, 0xcfff], START); // r18 TXEN, r17 TXEN | UDRIE; sleep enabled
  return new Machine(new Uint8Array(flash.buffer));
}
const ENABLE = [0x9310, 0x00c1]; // sts UCSR0B, r17
const SEI = 0x9478;
const SLEEP = 0x9588;
const COUNT_WAKE = 0x9543; // inc r20
const NOP = 0x0000;

test("an interrupt that stands when interrupts are let in wakes the sleep that follows at once, and is not taken before it", () => {
  const machine = machineRunning([...ENABLE, SEI, SLEEP, COUNT_WAKE]);
  machine.run(1_000);
  expect([machine.cpu.data[16], machine.cpu.data[20]]).toEqual([1, 1]);
});

test("a data register that nobody fills stays empty: its interrupt comes again when it is let in again", () => {
  const machine = machineRunning([...ENABLE, SEI, NOP, NOP, ...ENABLE, NOP, NOP]);
  machine.run(1_000);
  expect(machine.cpu.data[16]).toBe(2);
});

test("asleep with nothing to wake it the part is idle, and time goes on as far as it is let", () => {
  const machine = machineRunning([SEI, SLEEP, COUNT_WAKE]);
  machine.runUntilIdle(1_000);
  expect(machine.cycle).toBeLessThan(20);
  machine.run(16_000_000);
  expect([machine.cycle, machine.isIdle, machine.cpu.data[20]]).toEqual([16_000_000, true, 0]);
});

test("a sleep that is not enabled is passed over", () => {
  const machine = machineRunning([0xbe33, SLEEP, COUNT_WAKE]); // out SMCR, r3, which is 0
  machine.run(1_000);
  expect([machine.isIdle, machine.cpu.data[20]]).toEqual([false, 1]);
});
