/**
 * Are the shipped images those of these sources, for whoever has no cross compiler? And do they fit the part?
 */
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import {
  compile,
  compilerOf,
  madeWith,
  PREBUILT,
  ROLES,
  sourceHash,
  writeHex,
} from "../../harness/firmware/build.js";
import { SCRATCH } from "./link-kit.js";

const MEND = "run `npm run firmware -- --prebuilt`";
const RAM_BYTES = 2_048;
const FLASH_BYTES = 32_768;
/** What must be left of the RAM for the stack. */
const STACK_BYTES = 300;

test("the shipped images were made from these sources", () => {
  expect(madeWith().sources, MEND).toBe(sourceHash());
});

test.for(ROLES)(
  "the shipped image of the %s is what the compiler makes of them, and leaves room for the stack",
  (role, { skip }) => {
    const elf = join(SCRATCH, `${role}.elf`);
    const hex = join(SCRATCH, `${role}.hex`);
    const compiler = compilerOf("avr") ?? "avr-gcc is not installed";
    skip(compiler !== madeWith().compiler, `not compared: ${compiler}, made with ${madeWith().compiler}`);
    expect(compile({ part: "avr", role, to: elf })).toBeUndefined();
    expect(writeHex(elf, hex)).toBeUndefined();
    expect(readFileSync(hex, "utf8") === readFileSync(join(PREBUILT, `${role}.hex`), "utf8"), MEND).toBe(
      true,
    );

    const { stdout } = spawnSync("avr-size", ["-A", elf], { encoding: "utf8" });
    const size = (section: string): number =>
      Number(new RegExp(`^${section} +(\\d+)`, "m").exec(stdout)?.[1] ?? 0);
    const flash = size("\\.text") + size("\\.data");
    const ram = size("\\.data") + size("\\.bss");
    process.stdout.write(
      `${role}: flash ${flash} bytes, RAM ${ram} bytes, ${RAM_BYTES - ram} left for the stack\n`,
    );
    expect(flash).toBeLessThan(FLASH_BYTES);
    expect(RAM_BYTES - ram).toBeGreaterThanOrEqual(STACK_BYTES);
  },
);
