/**
 * Is the C twin the same thing as lib/pacing? Lockstep over random commands, with sanitizers; compilers and analysers.
 */
import { execFileSync, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { ALARMS, SHED_CAUSES } from "../../lib/pacing/index.js";
import { runs } from "../support/runs.js";
import { FAULTS, KINDS } from "./twin/words.js";
import { followTwin, leadTwin, type Reach, showsDifference } from "./twin/lockstep.js";
import { buildDriver, isInstalled, TWIN_FOLDER, WARNINGS } from "./twin/native.js";

const hasCompiler = isInstalled("cc");
const source = join(TWIN_FOLDER, "tallystroke.c");
const AT_ONCE = 10_000;

const MISTAKES: readonly (readonly [name: string, right: string, wrong: string])[] = [
  ["the cap is open", "s->now_ticks >= due_ticks(s)", "s->now_ticks > due_ticks(s)"],
  ["the plan forgets its rest", "s->plan_ticks += 1U;", ""],
  [
    "a remainder that is just whole is not earned",
    "s->settings->contact_rest >= missing",
    "s->settings->contact_rest > missing",
  ],
  ["the horizon does not follow the plan", "fade(&s->plan_ticks, by);", ""],
  ["old stamps are not faded", "(*at > by) ? (*at - by) : LONG_AGO", "*at - by"],
  ["the rest of the guard is forgotten", "s->guard_full_rest > terms->guard_tolerance_rest", "false"],
  ["a too large increase by exactly the factor", "(feed - 1U)", "(feed)"],
  [
    "a hold does not shed",
    "s->held = true;\n  s->priming = false;\n  shed_for_hold(s);",
    "s->held = true;\n  s->priming = false;\n  (void)shed_for_hold;",
  ],
  ["a wake-up on the tick is too early", "if (passed >= wake_in) {", "if (passed > wake_in) {"],
  ["the deadline before the stroke", "(TS_HORIZON + passed) - 1U", "TS_HORIZON + passed"],
  [
    "the counter's wrap is taken for a step back",
    "const ts_ticks passed = now - s->clock_ticks;",
    "const ts_ticks passed = (now < s->clock_ticks) ? 0U : (now - s->clock_ticks);",
  ],
  [
    "a restart forgets the remainder's denominator",
    "(uint16_t)get_field(bytes, FIELD_CONTACTS), settings->contacts",
    "settings->contacts, settings->contacts",
  ],
  ["a snapshot's checksum is not looked at", "ts_crc16(bytes, TS_SNAPSHOT_BYTES) != 0U", "false"],
  [
    "a closure qualifies before what else is due then",
    "meet(s, at);\n      s->line_armed = false;",
    "s->line_armed = false;",
  ],
];

let folder = "";
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "tallystroke-twin-test-"));
});
afterAll(() => {
  rmSync(folder, { recursive: true, force: true });
});

describe.skipIf(!hasCompiler)("lockstep (needs a C compiler, cc)", () => {
  test("the twin answers like lib/pacing after every command, whoever makes the commands up, and every corner is reached", () => {
    const driver = buildDriver({ sanitized: true });
    const reach: Reach = {};
    for (let seed = 1; seed <= runs(15); seed++) {
      leadTwin(driver, seed, AT_ONCE, reach);
      followTwin(driver, seed, AT_ONCE, reach);
    }
    const wanted = [
      ...KINDS.map((kind) => `op ${kind}`),
      ...ALARMS.flatMap((alarm) => [`alarm ${alarm}`, `alarm ${alarm} ends`]),
      ...SHED_CAUSES.map((cause) => `shed ${cause}`),
      ...["paced", "primed", "ignored", "rejected", "bounces", "qualified", "refused", "owed"],
      ...["held", "inhibited", "tripped", "priming", "line closed", "line armed"],
      ...["late", "wrap", "counter went back", "faded", "earned wraps"],
      // A budget of the guard has no value that is wrong by itself.
      ...FAULTS.filter((name) => name !== "" && name !== "guardBudgetStrokes").map(
        (name) => `settings ${name}`,
      ),
      "op unwrap",
      ...[0, 1, 2, 3, 4, 5].map((answer) => `restore ${answer}`),
    ];
    expect(wanted.filter((name) => (reach[name] ?? 0) === 0)).toEqual([]);
  });

  test.each(MISTAKES)("a mistake in the twin shows: %s", (_name, right, wrong) => {
    const text = readFileSync(source, "utf8");
    expect(text.split(right)).toHaveLength(2);
    const twin = join(folder, "mistaken.c");
    writeFileSync(twin, text.replace(right, wrong));
    const driver = buildDriver({ twin });
    const seeds = Array.from({ length: 60 }, (_, i) => 1 + i);
    expect(seeds.some((seed) => showsDifference(driver, seed, AT_ONCE))).toBe(true);
  });
});

const LEVELS = ["-O0", "-O2", "-Os"];
const COMPILERS: readonly (readonly [compiler: string, flags: readonly string[]])[] = [
  ["gcc", []],
  ["clang", []],
  ["avr-gcc", ["-mmcu=atmega328p"]],
  ["arm-none-eabi-gcc", ["-mcpu=cortex-m3", "-mthumb"]],
];

describe.each(COMPILERS)("with %s", (compiler, flags) => {
  test.skipIf(!isInstalled(compiler)).each(LEVELS)("the twin compiles without a warning at %s", (level) => {
    const object = join(folder, `${compiler}${level}.o`);
    execFileSync(compiler, [...WARNINGS, ...flags, level, "-c", source, "-o", object]);
  });
});

const ANALYSERS: readonly (readonly [program: string, words: readonly string[]])[] = [
  [
    "cppcheck",
    [
      ...["--quiet", "--std=c99", "--enable=all", "--inconclusive", "--error-exitcode=1"],
      ...["--suppress=missingIncludeSystem", "--suppress=unusedFunction", source],
    ],
  ],
  [
    "clang-tidy",
    [
      "--quiet",
      "--warnings-as-errors=*",
      "--checks=-*,bugprone-*,cert-*,clang-analyzer-*,misc-*,performance-*,portability-*,-bugprone-easily-swappable-parameters",
      ...[source, "--", "-std=c99"],
    ],
  ],
];

describe.each(ANALYSERS)("with %s", (program, words) => {
  test.skipIf(!isInstalled(program))("static analysis finds nothing in the twin", () => {
    const { status, stdout, stderr } = spawnSync(program, words, { cwd: folder, encoding: "utf8" });
    expect(`${stdout}${status === 0 ? "" : stderr}`).toBe("");
    expect(status).toBe(0);
  });
});

describe.skipIf(!isInstalled("avr-gcc"))("on an 8-bit part (needs avr-gcc)", () => {
  const compile = (text: string): string => {
    const [program, object] = [join(folder, "avr.c"), join(folder, "avr.o")];
    writeFileSync(program, text);
    execFileSync("avr-gcc", [
      ...WARNINGS,
      ...["-Os", "-mmcu=atmega328p", "-I", TWIN_FOLDER, "-c", program, "-o", object],
    ]);
    return object;
  };

  test("the state takes at most 96 bytes beside its tallies", () => {
    const most = "sizeof(ts_state) - sizeof(ts_tally) <= 96";
    compile(`#include "tallystroke.h"\ntypedef char small[(${most}) ? 1 : -1];\nsmall it;\n`);
  });

  test("the twin needs nothing but whole 16 and 32-bit arithmetic of the compiler's library: no memory, no floats, no 64 bits", () => {
    const object = compile(readFileSync(source, "utf8"));
    const needed = execFileSync("avr-nm", ["-u", object], { encoding: "utf8" });
    const known =
      /^(__udivmod[hs]i4|__u?mul[hs]i(hi|si)?3|__umulhisi3|__muluhisi3|__bswapsi2|__tablejump2__|__do_clear_bss|__do_copy_data|__(prologue_saves|epilogue_restores)__)$/;
    const names = needed.split("\n").flatMap((line) => line.trim().split(" ").slice(1));
    expect(names.filter((name) => !known.test(name))).toEqual([]);
  });
});

test("no function of the twin calls itself or one that stands below it: nothing recurs", () => {
  const text = readFileSync(source, "utf8");
  const bodies = text.split(/^(?=(?:ONE_COPY )?(?:static )?[a-z]\w* \*?\w+\()/m).slice(1);
  const names = bodies.map((body) => /(\w+)\(/.exec(body)?.[1] ?? "");
  expect(names.length).toBeGreaterThan(50);
  const upward = bodies.flatMap((body, at) => {
    const [, inner = ""] = /\{([^]*)/.exec(body) ?? [];
    const called = [...inner.matchAll(/\b(\w+)\(/g)].map(([, name = ""]) => name);
    return called.filter((name) => names.includes(name) && names.indexOf(name) >= at);
  });
  expect(upward).toEqual([]);
});
