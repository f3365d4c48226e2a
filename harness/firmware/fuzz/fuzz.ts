/**
 * How long do the twin and the link stand against a coverage-guided fuzzer? Harness layer; needs clang with libFuzzer.
 *
 * Each target is built with the address and undefined-behaviour sanitizers; anything that they, or the target's own
 * assertions, see ends the run. The link's dictionary and seeds are the words and sessions of LINK.md, so they follow it.
 */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { shipped } from "../../files/package-root.js";
import { sourcesOf } from "../build.js";

export const TARGETS = ["twin", "controller", "fixture"] as const;
export type Target = (typeof TARGETS)[number];

export interface Fuzzed {
  readonly executions: number;
  /** Edges of the program that were reached. */
  readonly edges: number;
  /** What was seen, with the input that shows it in base64; undefined where all held. */
  readonly failure?: string;
}

const SOURCES = shipped("harness/firmware");
const FLAGS = [
  ..."-std=c11 -g -O1 -Wall -Wextra -Werror".split(" "),
  "-fsanitize=fuzzer,address,undefined",
  "-fno-sanitize-recover=all",
];
/** Bytes of an input at most: some dozen requests. */
const INPUT_MOST = 1_024;
/** In link.c: ends a line with its right check; the terminals' levels follow; a time follows. */
const END = "\xfc";
const PINS = "\xfd";
const WAIT = "\xfe";

/** Why nothing can be fuzzed here; undefined where it can. */
export function missingFuzzer(): string | undefined {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-fuzz-"));
  try {
    const source = join(folder, "empty.c");
    writeFileSync(
      source,
      "int LLVMFuzzerTestOneInput(const unsigned char *d, unsigned long n) { return (void)d, (void)n, 0; }\n",
    );
    const { error, status } = spawnSync("clang", [
      "-fsanitize=fuzzer,address",
      source,
      "-o",
      join(folder, "empty"),
    ]);
    if (error) return "clang is not installed";
    return status === 0 ? undefined : "clang has no libFuzzer: install libclang-rt";
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Runs one target for so many executions from a seed, 1 to 2^31 − 1. The same seed tries the same inputs. */
export function fuzz(target: Target, executions: number, seed: number): Fuzzed {
  const folder = mkdtempSync(join(tmpdir(), "tallystroke-fuzz-"));
  try {
    const program = join(folder, target);
    build(target, program);
    const corpus = join(folder, "corpus");
    const found = join(folder, "found");
    mkdirSync(corpus);
    mkdirSync(found);
    const words = [
      `-runs=${executions}`,
      `-seed=${seed}`,
      `-max_len=${INPUT_MOST}`,
      "-print_final_stats=1",
      "-timeout=25",
    ];
    if (target !== "twin") {
      const dictionary = join(folder, "words.dict");
      writeFileSync(dictionary, linkDictionary());
      linkSeeds().forEach((bytes, i) => {
        writeFileSync(join(corpus, `${i}`), bytes);
      });
      words.push(`-dict=${dictionary}`);
    }
    const { stderr, status } = spawnSync(program, [...words, `-artifact_prefix=${found}/`, corpus], {
      encoding: "latin1",
      maxBuffer: 1 << 28,
    });
    return resultOf(stderr, status, found);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function build(target: Target, program: string): void {
  const sources =
    target === "twin"
      ? ["fuzz/twin.c", "pacing/tallystroke.c"]
      : ["fuzz/link.c", ...sourcesOf("host", target).filter((file) => !/^(image|board\/host)/.test(file))];
  const { status, stderr } = spawnSync("clang", [...FLAGS, ...sources, "-o", program], {
    cwd: SOURCES,
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(`the fuzz target ${target} was not built: ${stderr}`);
}

function resultOf(log: string, status: number | null, found: string): Fuzzed {
  const executions = Number(/number_of_executed_units: (\d+)/.exec(log)?.[1] ?? NaN);
  const edges = Math.max(0, ...[...log.matchAll(/ cov: (\d+)/g)].map(([, count]) => Number(count)));
  if (status === 0) return { executions, edges };
  const inputs = readdirSync(found).map((name) => readFileSync(join(found, name)).toString("base64"));
  const fault = /(?:SUMMARY|ERROR): .*/.exec(log)?.[0] ?? `ended with ${String(status)}`;
  return { executions, edges, failure: `${fault}; input ${inputs.join(", ") || "not kept"}` };
}

/** Everything in LINK.md that stands as code, in single words, in the form that the fuzzer reads. */
export function linkDictionary(): string {
  const codes = [...linkPage().matchAll(/`([^`\n]+)`/g)].flatMap(([, code]) =>
    (code as string).split(/[\s|]+/),
  );
  const words = new Set(codes.filter((word) => /^[a-zA-Z][\w-]*$/.test(word)));
  const bytes = ["\\xFC", "\\xFD\\x01", "\\xFD\\x00", "\\xFE\\x08", "\\xFE\\x10", "\\xFE\\x1E"];
  return [...words, "2147483648", "4294967295", "65535", "0", ...bytes].map((word) => `"${word}"\n`).join("");
}

/** A run on a free clock, worked by its terminals, with a power cut; LINK.md's own session is stepped. */
const FREE =
  "set strokes 3\nset contacts 2\nset leastSpacingMicros 100000\nset closedMicros 1000\nlag 9\nbegin free\n" +
  `${PINS}\x01${WAIT}\x08${PINS}\x00${WAIT}\x10${PINS}\x02${WAIT}\x12${PINS}\x0c${WAIT}\x10${PINS}\x00tell\n` +
  `set strokes 9\ndo settings unconfirmed\ndo settings confirmed\ndo contact\ndo power-off\n${WAIT}\x0c` +
  `do power-on dark-known\n${WAIT}\x0edo power-off\n${WAIT}\x1edo power-on dark-unknown\nend\n`;

/** The sessions of LINK.md and that above: each as it is typed, and the same with numbers and checks. */
function linkSeeds(): Buffer[] {
  const sessions = [...linkPage().matchAll(/```\n([\s\S]*?)```/g)].map(([, session]) =>
    [...(session as string).matchAll(/^> (.*)$/gm)].map(([, line]) => line as string),
  );
  return [...sessions, FREE.split("\n").slice(0, -1)]
    .filter((lines) => lines.length > 0)
    .flatMap((lines) => [
      Buffer.from(lines.map((line) => `${line}\n`).join(""), "latin1"),
      Buffer.from(lines.map((line, i) => line.replace(/[a-z].*$/, `${i} $&${END}`)).join(""), "latin1"),
    ]);
}

function linkPage(): string {
  return readFileSync(shipped("harness/link/LINK.md"), "utf8");
}
