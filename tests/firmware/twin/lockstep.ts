/**
 * Are the twin and lib/pacing the same, step for step? Test support.
 *
 * One run: commands from a seed (or from the driver's own generator), the answers of both, compared word by word. A
 * difference becomes a text that names seed, command and word, with the shortest list of commands that still shows it.
 */
import { ALARMS, SHED_CAUSES } from "../../../lib/pacing/index.js";
import { Follower } from "./follow.js";
import { ANSWER_WORDS, FAULTS, KINDS, OP, RANGE, WORDS } from "./words.js";
import { Generator } from "./generate.js";
import { runDriver } from "./native.js";

/** How often what was reached, by name. */
export type Reach = { [name: string]: number };

type Commands = readonly Uint32Array[];

/** TypeScript leads: throws at the first difference. Answers with the number of steps. */
export function leadTwin(driver: string, seed: number, count: number, reach: Reach): number {
  const { commands, answers } = played(seed, count);
  const at = firstDifference(runDriver(driver, [], joined(commands)), joined(answers));
  if (at >= 0) throw new Error(difference(driver, `seed ${seed}`, commands.slice(0, 1 + at)));
  note(commands, answers, reach);
  return stepsIn(commands);
}

/** Whether a seed shows any difference: the same, for a twin that is expected to be wrong, without looking for why. */
export function showsDifference(driver: string, seed: number, count: number): boolean {
  const { commands, answers } = played(seed, count);
  return firstDifference(runDriver(driver, [], joined(commands)), joined(answers)) >= 0;
}

function played(seed: number, count: number): Generator {
  const generator = new Generator(seed);
  generator.run(count);
  return generator;
}

/** The twin leads, with commands of its own making. */
export function followTwin(driver: string, seed: number, count: number, reach: Reach): number {
  const told = runDriver(driver, ["generate", String(seed), String(count)]);
  const follower = new Follower();
  const commands: Uint32Array[] = [];
  const answers: Uint32Array[] = [];
  for (let at = 0; at < told.length; at += ANSWER_WORDS) {
    const words = 4 + Follower.moreWords(told[at] as number);
    const answer = new Uint32Array(ANSWER_WORDS);
    commands.push(told.slice(at, at + words));
    answers.push(answer);
    follower.obey(told, at, answer, 0);
    at += words;
    if (firstDifference(told.subarray(at, at + ANSWER_WORDS), answer) >= 0)
      throw new Error(difference(driver, `the twin's seed ${seed}`, commands));
  }
  note(commands, answers, reach);
  return stepsIn(commands);
}

/** Commands that are steps of the pacer, and not the driver's other business. */
function stepsIn(commands: Commands): number {
  return commands.filter(([op = 0]) => op < KINDS.length).length;
}

function joined(parts: Commands): Uint32Array {
  const all = new Uint32Array(parts.reduce((sum, { length }) => sum + length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

/** Index of the first answer that differs; −1 for none. */
function firstDifference(a: Uint32Array, b: Uint32Array): number {
  if (
    Buffer.from(a.buffer, a.byteOffset, a.byteLength).equals(
      Buffer.from(b.buffer, b.byteOffset, b.byteLength),
    )
  )
    return -1;
  const at = b.findIndex((word, i) => word !== a[i]);
  return Math.floor((at < 0 ? b.length : at) / ANSWER_WORDS);
}

/** The answers of lib/pacing to any list of commands. */
function answersOf(commands: Commands): Uint32Array {
  const follower = new Follower();
  const answers = new Uint32Array(commands.length * ANSWER_WORDS);
  commands.forEach((command, i) => {
    follower.obey(command, 0, answers, i * ANSWER_WORDS);
  });
  return answers;
}

function differs(driver: string, commands: Commands): boolean {
  return firstDifference(runDriver(driver, [], joined(commands)), answersOf(commands)) >= 0;
}

/** Takes out whatever can go while the difference stays: runs of commands, then shorter ones, down to one. */
function shortest(driver: string, commands: Commands): Commands {
  // Settings of every slot and the start must stay, or there is no pacer to compare.
  const keep = commands.findIndex(([op]) => op === OP.start) + 1;
  let kept = commands;
  for (let size = Math.floor(kept.length / 2); size >= 1; size = Math.floor(size / 2)) {
    for (let at = kept.length - size; at >= keep; at -= size) {
      const without = [...kept.slice(0, at), ...kept.slice(at + size)];
      if (differs(driver, without)) kept = without;
    }
  }
  return kept;
}

function difference(driver: string, origin: string, commands: Commands): string {
  const kept = shortest(driver, commands);
  const theirs = runDriver(driver, [], joined(kept));
  const ours = answersOf(kept);
  const at = firstDifference(theirs, ours) * ANSWER_WORDS;
  const words = WORDS.flatMap((name, i) => {
    const [twin, core] = [theirs[at + i], ours[at + i]];
    return twin === core
      ? []
      : [`  ${name}: the twin has ${twin ?? "nothing"}, lib/pacing ${core ?? "nothing"}`];
  });
  const replay = kept.map((command) => `  ${nameOf(command)} ${command.subarray(1).join(" ")}`);
  return [
    `the twin and lib/pacing differ (${origin}), after these commands (op, now, detail, slot, more):`,
    ...replay,
    ...words,
  ].join("\n");
}

const OP_NAMES = Object.fromEntries(Object.entries(OP).map(([name, op]) => [op, name]));

function nameOf([op = 0]: Uint32Array): string {
  return KINDS[op] ?? OP_NAMES[op] ?? String(op);
}

const AT: { readonly [name: string]: number } = Object.fromEntries(WORDS.map((name, i) => [name, i]));
const FLAGS = ["held", "tripped", "prime pressed", "priming", "line closed", "line armed"];
const GAVE = ["", "paced", "primed"];

/** Counts what a run reached: ops, strokes, refusals, alarms, modes, causes of shedding, late steps, wraps. */
function note(commands: Commands, answers: Commands, reach: Reach): void {
  const count = (name: string): void => {
    reach[name] = (reach[name] ?? 0) + 1;
  };
  let before: Uint32Array | undefined;
  commands.forEach((command, i) => {
    const [op = 0, now = 0] = command;
    const after = answers[i] as Uint32Array;
    const word = (name: string): number => after[AT[name] as number] as number;
    count(`op ${nameOf(command)}`);
    if (op === OP.restore) count(`restore ${word("gave")}`);
    if (op === OP.validate) count(`settings ${FAULTS[word("gave")] || "sound"}`);
    if (op === OP.validate || op === OP.take || op === OP.unwrap) return;
    if (before !== undefined) {
      const passed = (now - (before[1] as number) + RANGE) % RANGE;
      const was = (name: string): number => before?.[AT[name] as number] as number;
      if (op < KINDS.length) {
        if (passed > was("wake") && passed < RANGE / 2) count("late");
        if (passed >= RANGE / 2) count("counter went back");
        if (now < (before[1] as number) && passed < RANGE / 2) count("wrap");
        if (word("gave") > 0) count(GAVE[word("gave")] as string);
        if (KINDS[op] !== "contact" && word("counted") !== was("counted")) count("qualified");
      }
      if (op < KINDS.length || (op === OP.restore && word("gave") === 0)) {
        ALARMS.forEach((name, bit) => {
          if ((word("raised") & (1 << bit)) !== 0) count(`alarm ${name}`);
          if ((word("cleared") & (1 << bit)) !== 0) count(`alarm ${name} ends`);
        });
      }
      for (const cause of SHED_CAUSES)
        if (word(`shed-${cause}`) !== was(`shed-${cause}`)) count(`shed ${cause}`);
      for (const name of ["ignored", "rejected", "bounces", "refused"])
        if (word(name) !== was(name)) count(name);
      if (word("earned") < was("earned") && op < KINDS.length) count("earned wraps");
    }
    FLAGS.forEach((name, bit) => {
      if ((word("flags") & (1 << bit)) !== 0) count(name);
    });
    if (word("inhibits") !== 0) count("inhibited");
    if (word("owed") > 0) count("owed");
    if (word("contact") >= 1_360_000_000) count("faded");
    before = after;
  });
}
