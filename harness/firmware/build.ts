/**
 * `npm run firmware`: builds the firmware for every part that a compiler is installed for, and says what it leaves out
 * and why. `--prebuilt` also renews the images that are shipped for those who have no cross compiler. Harness layer.
 *
 * The same sources and compiler give the same bytes: no time, no path and no name of this machine goes into an image.
 */
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { copyFileSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { shipped } from "../files/package-root.js";
import { buildEmulator } from "./emulator/build.js";

/** The two roles behind the link, and a controller that knows nothing of it. */
export const ROLES = ["controller", "fixture", "standalone"] as const;
export type Role = (typeof ROLES)[number];
export type Part = "host" | "avr" | "arm";

/** Where the sources stand, and where what is built from them goes. */
export const SOURCES = shipped("harness/firmware");
export const BUILT = shipped("dist/firmware");
export const PREBUILT = shipped("harness/firmware/image/prebuilt");

const MADE_WITH = "made-with.txt";

const WARNINGS = ["-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror"];
const SMALL = ["-Os", "-ffunction-sections", "-fdata-sections", "-Wl,--gc-sections"];
interface Toolchain {
  readonly compiler: string;
  readonly flags: readonly string[];
  readonly libraries?: readonly string[];
}
const PARTS: { readonly [part in Part]: Toolchain } = {
  host: { compiler: "cc", flags: ["-O2"] },
  avr: { compiler: "avr-gcc", flags: ["-mmcu=atmega328p", ...SMALL] },
  arm: {
    compiler: "arm-none-eabi-gcc",
    // No library at all: what little the compiler asks for stands in board/arm.c.
    flags: ["-mcpu=cortex-m3", "-mthumb", ...SMALL, "-ffreestanding", "-nostdlib", "-T", "board/arm.ld"],
    libraries: ["-lgcc"],
  },
};
const LINK = ["link", "line", "words", "request", "report", "run", "greet"].map((name) => `link/${name}.c`);
const PACING = ["pacing/tallystroke.c", "board/terminals.c"];
const ROLE_SOURCES: { readonly [role in Role]: readonly string[] } = {
  controller: [...LINK, "link/controller.c", "link/staged.c", "link/effects.c", ...PACING],
  fixture: [...LINK, "link/fixture.c", "pacing/tallystroke.c"],
  standalone: PACING,
};

// What a fixture does comes at the bench's times on a clock that runs: it is told further ahead, and has the memory.
const ROLE_FLAGS: { readonly [role in Role]: readonly string[] } = {
  controller: [],
  fixture: ["-DRUN_QUEUE=16u"],
  standalone: [],
};

/** The sources of an image, from the folder of the firmware. */
export function sourcesOf(part: Part, role: Role, board = `board/${part}.c`): string[] {
  return [`image/${role}.c`, ...ROLE_SOURCES[role], board];
}

export interface Compile {
  readonly part: Part;
  readonly role: Role;
  /** The program, or the image in ELF. */
  readonly to: string;
  /** The folder of the firmware's sources; default our own. */
  readonly from?: string;
  /** Another hardware layer than the part's own. */
  readonly board?: string;
  /** Further words for the compiler. */
  readonly more?: readonly string[];
}

/** Compiles one image; answers why it could not be, or undefined. What the compiler says is part of the answer. */
export function compile({ part, role, to, from = SOURCES, board, more = [] }: Compile): string | undefined {
  const { compiler, flags, libraries = [] } = PARTS[part];
  mkdirSync(dirname(to), { recursive: true });
  const words = [
    ...WARNINGS,
    ...flags,
    ...ROLE_FLAGS[role],
    ...more,
    ...sourcesOf(part, role, board),
    ...libraries,
    "-o",
    to,
  ];
  return run(compiler, words, from);
}

/** The same image as Intel HEX. */
export function writeHex(elf: string, hex: string): string | undefined {
  return run("avr-objcopy", ["-O", "ihex", "-R", ".eeprom", elf, hex], dirname(elf));
}

/** What a compiler calls itself in its first line; undefined if it is not installed. */
export function compilerOf(part: Part): string | undefined {
  const { error, stdout } = spawnSync(PARTS[part].compiler, ["--version"], { encoding: "utf8" });
  return error === undefined ? stdout.split("\n")[0] : undefined;
}

/** Of comments and spacing nothing is left in an image. */
function bare(source: string): string {
  return source.replace(/\/\*[\s\S]*?\*\/|\/\/.*/g, " ").replace(/\s+/g, " ");
}

/** A hash of all that an AVR image is made of, the same on every machine and for other comments. */
export function sourceHash(from = SOURCES): string {
  const hash = createHash("sha256");
  for (const folder of ["board", "image", "link", "pacing"]) {
    for (const file of readdirSync(join(from, folder)).sort()) {
      if (!/\.[ch]$/.test(file) || /^(host|arm)\.c$/.test(file)) continue;
      hash.update(`${folder}/${file}\n${bare(readFileSync(join(from, folder, file), "utf8"))}\n`);
    }
  }
  return hash.digest("hex");
}

/** What was said of the shipped images when they were made: their compiler, and the hash of their sources. */
export function madeWith(): { readonly compiler: string; readonly sources: string } {
  const [compiler = "", sources = ""] = readFileSync(join(PREBUILT, MADE_WITH), "utf8").split("\n");
  return { compiler, sources: sources.replace("sources ", "") };
}

function run(program: string, words: readonly string[], cwd: string): string | undefined {
  const { error, status, stderr } = spawnSync(program, words, { cwd, encoding: "utf8" });
  if (error !== undefined) return `${program} is not installed`;
  return status === 0 ? undefined : stderr;
}

/** What was built, and what was not and why. */
interface Result {
  readonly part: Part | "emulator";
  readonly what: string;
  readonly without?: string | undefined;
}

function build(part: Part, role: Role, name: string): Result {
  const to = join(BUILT, name);
  let without = compile({ part, role, to });
  if (without === undefined && part === "avr") without = writeHex(to, to.replace(/elf$/, "hex"));
  return { part, what: `${role} for ${part}: ${name}`, without };
}

export function buildAll(): Result[] {
  return [
    build("host", "controller", "controller"),
    ...ROLES.map((role) => build("avr", role, `${role}.elf`)),
    build("arm", "controller", "controller-arm.elf"),
    {
      part: "emulator",
      what: "emulator of the ATmega328P: emulator",
      without: buildEmulator(join(BUILT, "emulator")),
    },
  ];
}

function renewPrebuilt(): void {
  for (const role of ROLES) {
    copyFileSync(join(BUILT, `${role}.hex`), join(PREBUILT, `${role}.hex`));
  }
  writeFileSync(join(PREBUILT, MADE_WITH), `${compilerOf("avr") ?? ""}\nsources ${sourceHash()}\n`);
}

function main(words: readonly string[]): void {
  const results = buildAll();
  for (const { what, without } of results) {
    process.stdout.write(without === undefined ? `${what}\n` : `${what}: left out. ${without}\n`);
  }
  const failed = results.some(({ without }) => without !== undefined && !/ is not installed$/.test(without));
  const hasImages = results.every(({ part, without }) => part !== "avr" || without === undefined);
  if (words.includes("--prebuilt") && hasImages) renewPrebuilt();
  if (failed) process.exitCode = 1;
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) main(process.argv.slice(2));
