/**
 * After many kills: does the journal say what meter and pump did? Bench, pure.
 *
 * The accused is the feed with its journal. The evidence is what the stand-ins for meter and pump wrote down by
 * themselves, in their own processes, which nobody killed: a register, and each stroke with its number and time.
 */
import type { JournalStroke, Tallies } from "../harness/journal/reading.js";
import type { Verdict } from "../lib/laws/index.js";
import type { Micros, Settings } from "../lib/pacing/index.js";

export interface StrokeMade {
  readonly number: number;
  /** Of the machine's monotonic clock, taken where it was made. */
  readonly atMicros: Micros;
}

export interface Evidence {
  readonly settings: Pick<Settings, "strokes" | "contacts" | "leastSpacingMicros">;
  readonly kills: number;
  /** Contacts that the meter has counted since the journal began. */
  readonly register: number;
  readonly made: readonly StrokeMade[];
  readonly tallies: Tallies;
  readonly strokes: readonly JournalStroke[];
  /** Over the journal's trace. */
  readonly verdicts: readonly Verdict[];
}

export interface Checked {
  readonly what: string;
  /** Empty where it holds: what was found instead, in words. */
  readonly fault: string;
}

const SHOWN_MOST = 5;

/** Each statement that must hold, and what was found where one does not. */
export function checkSoak(evidence: Evidence): Checked[] {
  const { settings, kills, register, made, tallies, verdicts } = evidence;
  const { counted, ignored, rejected, earned, paced, primed, owed, uncertain } = tallies;
  const shed = Object.values(tallies.shed).reduce((sum, strokes) => sum + strokes, 0);
  const contacts = counted + ignored + rejected;
  const strokes = paced + primed;
  const apart = leastApart(made);
  const kept = Math.floor((counted * settings.strokes) / settings.contacts);
  const broken = verdicts.filter(({ answer }) => answer === "broken");
  return [
    check(
      "every contact of the register is in the journal, once",
      contacts === register,
      () => `${contacts} in the journal, ${register} in the register`,
    ),
    check(
      "strokes of the pump are those of the journal, but for the uncertain ones",
      made.length >= strokes - uncertain && made.length <= strokes,
      () => `${made.length} made by the pump, ${strokes} in the journal, ${uncertain} of them uncertain`,
    ),
    check("no number was made twice or left out", outOfOrder(made).length === 0, () =>
      listed(outOfOrder(made)),
    ),
    check(
      "the journal's strokes and the pump's bear the same numbers",
      mismatched(evidence).length === 0,
      () => listed(mismatched(evidence)),
    ),
    check(
      "at most one stroke a kill is uncertain",
      uncertain <= kills,
      () => `${uncertain} after ${kills} kills`,
    ),
    check(
      "no two strokes of the pump are closer than the least spacing",
      apart === undefined || apart >= settings.leastSpacingMicros,
      () => `${String(apart)} µs apart, ${settings.leastSpacingMicros} µs at the least`,
    ),
    check(
      "earned is the contacts times the ratio, rounded down",
      earned === kept,
      () => `${earned}, not ${kept}`,
    ),
    check(
      "earned = paced + owed + shed",
      earned === paced + owed + shed,
      () => `${earned} earned, ${paced} paced, ${owed} owed, ${shed} shed`,
    ),
    check("the journal's trace breaks no law", broken.length === 0, () =>
      broken.map(({ law, evidence: seen }) => `${law}: ${seen ?? ""}`).join("; "),
    ),
  ];
}

/** The least time between two strokes that followed each other, in µs; undefined below two strokes. */
export function leastApart(made: readonly StrokeMade[]): Micros | undefined {
  let least: Micros | undefined;
  made.forEach(({ atMicros }, i) => {
    const before = made[i - 1];
    if (before !== undefined) least = Math.min(least ?? Infinity, atMicros - before.atMicros);
  });
  return least;
}

function outOfOrder(made: readonly StrokeMade[]): string[] {
  return made.flatMap(({ number }, i) =>
    number === i + 1 ? [] : [`stroke ${number} where ${i + 1} was due`],
  );
}

/** Numbers that one of the two has and the other has not; those that are uncertain may be either. */
function mismatched({ made, strokes }: Evidence): string[] {
  const byPump = new Set(made.map(({ number }) => number));
  const byJournal = new Set<number>();
  const found: string[] = [];
  for (const { number, outcome } of strokes) {
    if (outcome === "unmade") continue;
    if (outcome === "asked") found.push(`stroke ${number} was never resolved`);
    if (byJournal.has(number)) found.push(`stroke ${number} is twice in the journal`);
    byJournal.add(number);
    if (outcome === "made" && !byPump.has(number)) found.push(`stroke ${number} only in the journal`);
  }
  return [
    ...found,
    ...[...byPump]
      .filter((number) => !byJournal.has(number))
      .map((number) => `stroke ${number} only at the pump`),
  ];
}

function listed(faults: readonly string[]): string {
  const more = faults.length - SHOWN_MOST;
  return [...faults.slice(0, SHOWN_MOST), ...(more > 0 ? [`and ${more} more`] : [])].join("; ");
}

function check(what: string, holds: boolean, fault: () => string): Checked {
  return { what, fault: holds ? "" : fault() };
}
