/**
 * Are the golden vectors what the core does, do they show everything, and does the C twin pass them?
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { goldenFiles, VECTORS_FOLDER } from "../../harness/firmware/vectors/write.js";
import { judgeTrace, LAW_NAMES } from "../../lib/laws/index.js";
import { ALARMS, INHIBIT_CAUSES, SHED_CAUSES, validateSettings } from "../../lib/pacing/index.js";
import { projectRecord } from "./twin/follow.js";
import { ANSWER_WORDS, FAULTS, KINDS, OP, RANGE, twinSnapshot, WORDS, wordsOf } from "./twin/words.js";
import { type Golden, type GoldenStep, inputIn, readGolden } from "./twin/golden.js";
import { buildDriver, isInstalled, runDriver } from "./twin/native.js";

const names = readdirSync(VECTORS_FOLDER).sort();
const traces = names.filter((name) => name !== "validate.csv");

describe("the vectors", () => {
  test("are written anew byte for byte", () => {
    const files = goldenFiles();
    expect([...files.keys()].sort()).toEqual(names);
    for (const [name, text] of files) expect(readFileSync(join(VECTORS_FOLDER, name), "utf8")).toBe(text);
  });

  test("take at most 400 KB together", () => {
    const bytes = [...goldenFiles().values()].reduce((sum, text) => sum + Buffer.byteLength(text), 0);
    expect(bytes).toBeLessThan(400_000);
  });

  test("show every law, input, effect, alarm, cause and mode", () => {
    const seen = new Set(traces.map(readGolden).flatMap(shownIn));
    const wanted = [
      ...LAW_NAMES.map((law) => `law ${law}`),
      ...KINDS.map((kind) => `input ${kind}`),
      ...["power-off", "power-on"].map((kind) => `input ${kind}`),
      ...INHIBIT_CAUSES.flatMap((cause) => [`inhibit-on ${cause}`, `inhibit-off ${cause}`]),
      ...["counted", "ignored", "rejected", "paced", "primed", "refused"],
      ...SHED_CAUSES.map((cause) => `shed ${cause}`),
      ...ALARMS.flatMap((alarm) => [`alarm-on ${alarm}`, `alarm-off ${alarm}`]),
      ...[
        "held",
        "inhibited",
        "tripped",
        "priming",
        "line closed",
        "spread",
        "prompt",
        "earn",
        "ignore",
        "guarded",
      ],
      ...["bounce", "carry", "guard rest", "confirmed", "dark-known", "dark-unknown"],
    ];
    expect(wanted.filter((name) => !seen.has(name))).toEqual([]);
  });

  test("are each named in PORT.md", () => {
    const page = readFileSync(join(VECTORS_FOLDER, "..", "..", "PORT.md"), "utf8");
    const named = [...page.matchAll(/`([a-z0-9-]+\.csv)`/g)].map(([, name = ""]) => name);
    expect([...new Set(named)].sort()).toEqual(names);
  });

  test.each(traces)("%s breaks no law", (name) => {
    const golden = readGolden(name);
    const judge = judgeTrace(golden.settings, {
      startRemainder: 0,
      driven: golden.isLate ? "late" : "on time",
    });
    for (const { input, responses } of golden.steps)
      for (const event of [input, ...responses]) judge.see(event);
    expect(judge.verdicts().filter(({ answer }) => answer === "broken")).toEqual([]);
  });

  test("of extra wake-ups and of another start have the same strokes as those that they are variants of", () => {
    const strokes = (name: string): string[] => {
      const { startMicros, steps } = readGolden(name);
      return steps.flatMap(({ responses }) =>
        responses
          .filter(({ kind }) => kind === "paced")
          .map(({ atMicros }) => String(atMicros - startMicros)),
      );
    };
    expect(strokes("wake-ups.csv")).toEqual(strokes("debt.csv"));
    expect(strokes("time-shift.csv")).toEqual(strokes("spread.csv"));
  });
});

function shownIn({ laws, settings, steps }: Golden): string[] {
  return [
    ...laws.map((law) => `law ${law}`),
    ...[settings.cadence, settings.guardBudgetStrokes > 0 ? "guarded" : ""],
    ...steps.flatMap(({ input, responses, record }) => [
      ...[`input ${input.kind}`, ...responses.map(({ kind }) => kind)],
      ...(input.kind === "inhibit-on" || input.kind === "inhibit-off"
        ? [`${input.kind} ${input.cause}`]
        : []),
      ...(input.kind === "settings" && input.confirmed ? ["confirmed"] : []),
      ...(input.kind === "power-on" ? [input.darkKnown ? "dark-known" : "dark-unknown"] : []),
      ...responses.flatMap((event) =>
        event.kind === "shed"
          ? [`shed ${event.cause}`]
          : event.kind === "alarm-on" || event.kind === "alarm-off"
            ? [`${event.kind} ${event.alarm}`]
            : [],
      ),
      ...(record.priming ? ["priming", record.settings.contactsDuringPrime] : []),
      ...(record.held ? ["held"] : []),
      ...(record.inhibits ? ["inhibited"] : []),
      ...(record.tripped ? ["tripped"] : []),
      ...(record.lineClosed ? ["line closed"] : []),
      ...(record.bounces ? ["bounce"] : []),
      ...(record.planCarry ? ["carry"] : []),
      ...(record.guardFullRest ? ["guard rest"] : []),
    ]),
  ];
}

describe.skipIf(!isInstalled("cc"))("the twin, built for this machine (needs a C compiler, cc)", () => {
  const driver = buildDriver({ sanitized: true });

  test.each(traces)("passes %s", (name) => {
    const golden = readGolden(name);
    const play = playOf(golden);
    const answers = runDriver(driver, [], Uint32Array.from(play.commands.flatMap((words) => [...words])));
    play.expected.forEach((expected, i) => {
      const answer = answers.subarray(i * ANSWER_WORDS, (i + 1) * ANSWER_WORDS);
      if (expected !== undefined)
        expect(named(answer, expected.skip)).toEqual(named(expected.words, expected.skip));
    });
  });

  test("judges every row of validate.csv like the core", () => {
    const rows = readFileSync(join(VECTORS_FOLDER, "validate.csv"), "utf8")
      .trimEnd()
      .split("\n")
      .filter((line) => !line.startsWith("#"))
      .slice(1)
      .map((line) => line.split(",") as [string, string, string]);
    const commands = rows.map(([, , detail]) => [OP.validate, 0, 0, 0, ...wordsOf(inputIn(detail) as never)]);
    const answers = runDriver(driver, [], Uint32Array.from(commands.flat()));
    rows.forEach(([answer, derived, detail], i) => {
      const verdict = validateSettings(inputIn(detail));
      expect(verdict.ok ? "sound" : verdict.faults[0]?.setting).toBe(answer);
      const [fault = 0, ...values] = answers.subarray(i * ANSWER_WORDS, i * ANSWER_WORDS + 6);
      expect(FAULTS[fault] || "sound", detail).toBe(answer);
      if (answer === "sound")
        expect(values).toEqual(derived.split(" ").map((pair) => Number(pair.split("=")[1])));
    });
  });
});

interface Expected {
  readonly words: Uint32Array;
  /** Words that a vector does not tell. */
  readonly skip: readonly string[];
}

const MADE = ["raised", "cleared"];

/** The commands of the driver that play a vector, and the answers that the vector promises. */
function playOf({ settings, startMicros, first, steps }: Golden): {
  commands: (readonly number[])[];
  expected: (Expected | undefined)[];
} {
  const commands: (readonly number[])[] = [];
  const expected: (Expected | undefined)[] = [];
  const give = (command: readonly number[], words?: Uint32Array, skip: readonly string[] = MADE): void => {
    commands.push(command);
    expected.push(words && { words, skip });
  };
  const record = (state: GoldenStep["record"], gave = 0): Uint32Array => {
    const words = new Uint32Array(ANSWER_WORDS);
    projectRecord(state, state.nowMicros % RANGE, gave, words, 0);
    return words;
  };
  let offMicros = 0;
  let slot = 0;
  give([OP.validate, 0, 0, slot, ...wordsOf(settings)]);
  give([OP.start, startMicros % RANGE, 0, slot], record(first));
  for (const { input, responses, record: state, snapshot } of steps) {
    const now = input.atMicros % RANGE;
    const kinds = responses.map(({ kind }) => kind);
    const gave = kinds.includes("paced") ? 1 : kinds.includes("primed") ? 2 : 0;
    if (input.kind === "power-off") {
      offMicros = input.atMicros;
      give([0, now, 0, 0], record(state, gave));
      const bytes = new Uint8Array(ANSWER_WORDS * 4);
      bytes.set(twinSnapshot(Buffer.from(snapshot ?? "", "hex")));
      give([OP.take, 0, 0, 0], new Uint32Array(bytes.buffer), []);
    } else if (input.kind === "power-on") {
      const dark = input.darkKnown ? input.atMicros - offMicros : RANGE - 1;
      give([OP.restore, now, dark, slot], record(state));
    } else if (input.kind === "settings") {
      give([OP.validate, 0, 0, 1 - slot, ...wordsOf(input.settings)]);
      give([KINDS.indexOf(input.kind), now, Number(input.confirmed), 1 - slot], record(state, gave));
      if (!kinds.includes("refused")) slot = 1 - slot;
    } else {
      const detail = "cause" in input ? INHIBIT_CAUSES.indexOf(input.cause) : 0;
      give([KINDS.indexOf(input.kind), now, detail, 0], record(state, gave));
    }
  }
  return { commands, expected };
}

/** An answer as an object, for a person who reads a difference. */
function named(words: Uint32Array, skip: readonly string[]): { [name: string]: number } {
  const pairs = WORDS.map((name, i) => [name, words[i] as number] as const);
  return Object.fromEntries(pairs.filter(([name]) => !skip.includes(name)));
}
