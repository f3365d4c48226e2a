/**
 * Which plainer times could stand in for one in a passage? Harness layer.
 *
 * Plainer is: shorter by a round amount, or the same but for fewer digits. Each replacement is plainer than what it
 * replaces, so that replacing comes to an end.
 */
import { type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";
import type { Passage } from "../stimuli/passage.js";

type TimeName = "afterMicros" | "everyMicros" | "closedMicros";

const ROUND: readonly Micros[] = [SECOND, 2 * SECOND, 5 * SECOND, 10 * SECOND, 30 * SECOND, MINUTE];
const UNITS: readonly Micros[] = [10 * SECOND, SECOND, SECOND / 2, SECOND / 10, SECOND / 100, SECOND / 1_000];

/** The candidates for one time of a passage, best first; none where it has no such time. */
export function plainTimes(passage: Passage, name: TimeName): Micros[] {
  const micros = timeOf(passage, name);
  if (micros === undefined || micros === 0) return [];
  // The distance within a run of one means nothing.
  if (name === "everyMicros" && passage.kind !== "event" && passage.count === 1) return [0];
  const found = ROUND.filter((round) => round < micros);
  for (const unit of UNITS) {
    if (micros % unit === 0) break;
    const below = micros - (micros % unit);
    if (below > 0) found.push(below);
    if (below + unit <= 2 * micros) found.push(below + unit);
  }
  return [...new Set(found)];
}

export function withTime(passage: Passage, name: TimeName, micros: Micros): Passage {
  return { ...passage, [name]: micros };
}

function timeOf(passage: Passage, name: TimeName): Micros | undefined {
  return (passage as { readonly [time in TimeName]?: Micros })[name];
}
