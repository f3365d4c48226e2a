/**
 * What is the least that still shows it? Makes a stimulus shorter while the same law stays broken. Harness layer.
 *
 * Delta debugging over passages (A. Zeller and R. Hildebrandt, *Simplifying and isolating failure-inducing input*, IEEE
 * Transactions on Software Engineering 28(2), 2002): chunks of passages go first, then contacts within runs, then uneven
 * contacts become even runs, then times become plain. Every try is a run from a fresh start, so their number and their
 * device time are bounded; what is found by then is handed back.
 */
import { type Micros, SECOND } from "../../lib/pacing/index.js";
import { lastMicrosOf, lengthOf, type Passage, type Stimulus, untilOf } from "../stimuli/passage.js";
import { plainTimes, withTime } from "./plain-times.js";

export interface ShrinkLimits {
  readonly triesMost: number;
  /** Device time that all tries may take together, in µs. */
  readonly deviceMicrosMost: Micros;
}

export interface Shrunk {
  readonly stimulus: Stimulus;
  readonly tries: number;
  /** False if a limit ended it before nothing more could be taken away. */
  readonly isMinimal: boolean;
}

/** When the law broke in a run of this stimulus; undefined if it did not. */
export type BreaksAt = (stimulus: Stimulus) => Promise<Micros | undefined>;

/** After the moment at which it broke a run goes on for no longer than this. */
const TAIL_AFTER_BREAK: Micros = SECOND / 10;

/** Tries a candidate; true, and the candidate is kept, if it still breaks. */
type Attempt = (candidate: Stimulus) => Promise<boolean>;
interface Search {
  readonly best: () => Stimulus;
  readonly attempt: Attempt;
}

/** `stimulus` breaks at `brokenAtMicros`; `onBetter` is told each shorter one. */
export async function shrink(
  stimulus: Stimulus,
  brokenAtMicros: Micros,
  breaksAt: BreaksAt,
  limits: ShrinkLimits,
  onBetter: (best: Stimulus, tries: number) => void = () => undefined,
): Promise<Shrunk> {
  let best = stimulus;
  let bestAtMicros = brokenAtMicros;
  let tries = 0;
  let deviceMicros = 0;
  let isOver = false;
  const seen = new Set<string>([keyOf(stimulus)]);

  const attempt: Attempt = async (candidate) => {
    const key = keyOf(candidate);
    if (candidate.passages.length === 0 || seen.has(key)) return false;
    deviceMicros += untilOf(candidate);
    isOver ||= tries >= limits.triesMost || deviceMicros > limits.deviceMicrosMost;
    if (isOver) return false;
    seen.add(key);
    tries += 1;
    const atMicros = await breaksAt(candidate);
    if (atMicros === undefined) return false;
    best = candidate;
    bestAtMicros = atMicros;
    onBetter(best, tries);
    return true;
  };
  const search: Search = { best: () => best, attempt };

  // A stage that helps sends the search back to the first: what could not go before may go after it.
  const stages = [
    () => attempt(cutAfter(best, bestAtMicros)),
    () => dropChunks(search),
    () => dropContacts(search),
    () => joinRuns(search),
    () => simplify(search),
    () => plainTail(search),
  ];
  for (let stage = 0; stage < stages.length;) {
    // Once a limit is reached, every attempt is refused, and the stages run out.
    const helped = await (stages[stage] as () => Promise<boolean>)();
    stage = helped && stage > 0 && best.passages.length > 1 ? 0 : stage + 1;
  }
  return { stimulus: best, tries, isMinimal: !isOver };
}

function keyOf({ passages, tailMicros }: Stimulus): string {
  return JSON.stringify([passages, tailMicros]);
}

/** Nothing that comes after the moment can have brought it about. */
function cutAfter({ passages, ...rest }: Stimulus, brokenAtMicros: Micros): Stimulus {
  const kept: Passage[] = [];
  let micros: Micros = 0;
  for (const passage of passages) {
    micros += passage.afterMicros;
    if (micros > brokenAtMicros) break;
    const fits =
      passage.kind === "event" || passage.everyMicros === 0
        ? Infinity
        : Math.floor((brokenAtMicros - micros) / passage.everyMicros) + 1;
    kept.push(passage.kind === "event" ? passage : { ...passage, count: Math.min(passage.count, fits) });
    micros += lengthOf(passage);
  }
  const tailMicros = Math.max(brokenAtMicros - lastMicrosOf(kept), 0) + TAIL_AFTER_BREAK;
  return { ...rest, passages: kept, tailMicros: Math.min(tailMicros, untilOf({ passages, ...rest })) };
}

/** Takes out chunks, large ones first; what follows stays where it was in time, or else moves up. */
async function dropChunks({ best, attempt }: Search): Promise<boolean> {
  let helped = false;
  for (
    let size = Math.max(1, Math.floor(best().passages.length / 2));
    size >= 1;
    size = Math.floor(size / 2)
  ) {
    for (let from = best().passages.length - size; from > -size; from -= size) {
      const at = Math.max(from, 0);
      if (await attempt(without(best(), at, size, true))) helped = true;
      else if (await attempt(without(best(), at, size, false))) helped = true;
    }
  }
  return helped;
}

function without(stimulus: Stimulus, from: number, size: number, keepTimes: boolean): Stimulus {
  const { passages } = stimulus;
  const gone = passages.slice(from, from + size);
  const [next, ...later] = passages.slice(from + size);
  const gap = keepTimes ? lastMicrosOf(gone) : 0;
  if (next === undefined) {
    return { ...stimulus, passages: passages.slice(0, from), tailMicros: stimulus.tailMicros + gap };
  }
  return {
    ...stimulus,
    passages: [...passages.slice(0, from), { ...next, afterMicros: next.afterMicros + gap }, ...later],
  };
}

/** Takes contacts from the ends of runs: as many at once as can go, halving. */
async function dropContacts(search: Search): Promise<boolean> {
  const { best } = search;
  let helped = false;
  for (let i = 0; i < best().passages.length; i++) {
    const countOf = (): number => {
      const passage = best().passages[i];
      return passage === undefined || passage.kind === "event" ? 1 : passage.count;
    };
    for (let fewer = countOf() - 1; fewer >= 1; fewer = Math.floor(fewer / 2)) {
      while (countOf() > fewer && (await oneOf(search, shorterRuns(search.best(), i, fewer)))) {
        helped = true;
      }
    }
  }
  return helped;
}

async function oneOf({ attempt }: Search, candidates: readonly Stimulus[]): Promise<boolean> {
  for (const candidate of candidates) if (await attempt(candidate)) return true;
  return false;
}

/** What follows moves up, or stays where it was in time; after the last run there is nothing to move. */
function shorterRuns(stimulus: Stimulus, i: number, fewer: number): Stimulus[] {
  const movedUp = shorterRun(stimulus, i, fewer, false);
  return i === stimulus.passages.length - 1 ? [movedUp] : [movedUp, shorterRun(stimulus, i, fewer, true)];
}

function shorterRun(stimulus: Stimulus, i: number, fewer: number, keepTimes: boolean): Stimulus {
  const run = stimulus.passages[i] as Exclude<Passage, { readonly kind: "event" }>;
  const shorter = { ...run, count: run.count - fewer };
  const gap = keepTimes ? lengthOf(run) - lengthOf(shorter) : 0;
  const passages = stimulus.passages.map((passage, at) =>
    at === i ? shorter : at === i + 1 ? { ...passage, afterMicros: passage.afterMicros + gap } : passage,
  );
  return { ...stimulus, passages };
}

/** Makes one even run of contacts out of neighbours: of as many as there are, or of two. */
async function joinRuns({ best, attempt }: Search): Promise<boolean> {
  for (let i = 0; i < best().passages.length - 1; i++) {
    let end = i;
    while (best().passages[end]?.kind === "contacts") end += 1;
    for (const until of new Set([end, i + 2])) {
      if (until - i < 2 || until > end) continue;
      for (const joined of evenRuns(best().passages.slice(i, until))) {
        const passages = [...best().passages.slice(0, i), joined, ...best().passages.slice(until)];
        if (await attempt({ ...best(), passages })) return true;
      }
    }
  }
  return false;
}

function evenRuns(parts: readonly Passage[]): Passage[] {
  const runs = parts.filter((part) => part.kind === "contacts");
  const [first] = runs;
  if (first === undefined) return [];
  const count = runs.reduce((sum, run) => sum + run.count, 0);
  const average = Math.round((lastMicrosOf(parts) - first.afterMicros) / (count - 1));
  const paces = runs.flatMap((run, i) => [
    ...(run.count > 1 ? [run.everyMicros] : []),
    ...(i > 0 ? [run.afterMicros] : []),
  ]);
  return [...new Set([average, Math.min(...paces), Math.max(...paces)])].map((everyMicros) => ({
    ...first,
    count,
    everyMicros,
  }));
}

/** Says each passage more plainly: a closure as a contact, a time as whole seconds. */
async function simplify({ best, attempt }: Search): Promise<boolean> {
  let helped = false;
  for (let i = 0; i < best().passages.length; i++) {
    const replaced = (passage: Passage): Stimulus => ({
      ...best(),
      passages: best().passages.map((each, at) => (at === i ? passage : each)),
    });
    const passage = best().passages[i] as Passage;
    if (passage.kind === "closures") {
      const { afterMicros, count, everyMicros } = passage;
      if (await attempt(replaced({ kind: "contacts", afterMicros, count, everyMicros }))) helped = true;
    }
    for (const name of ["afterMicros", "everyMicros", "closedMicros"] as const) {
      for (const micros of plainTimes(best().passages[i] as Passage, name)) {
        if (await attempt(replaced(withTime(best().passages[i] as Passage, name, micros)))) {
          helped = true;
          break;
        }
      }
    }
  }
  return helped;
}

async function plainTail({ best, attempt }: Search): Promise<boolean> {
  for (const unit of [SECOND, TAIL_AFTER_BREAK]) {
    const tailMicros = Math.ceil(best().tailMicros / unit) * unit;
    if (tailMicros < 2 * best().tailMicros && (await attempt({ ...best(), tailMicros }))) return false;
  }
  return false;
}
