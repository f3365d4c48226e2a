/**
 * What is kept of contacts, strokes, debt and what stood, over time, with the worst of it exactly? Harness layer.
 */
import type { Micros } from "../../../lib/pacing/index.js";
import { isStimulus, type TraceEvent } from "../../../lib/trace/index.js";
import { newBuckets } from "./buckets.js";
import { RUN_COLUMNS, type RunSeries } from "./series.js";
import { newStanding } from "./standing.js";

/** One value at its worst, and when it first was so. */
export interface Worst {
  readonly value: number;
  readonly atMicros: Micros;
}

/** What is kept. */
export interface RunKept {
  readonly run: RunSeries;
  /** Undefined where the device does not tell what it owes. */
  readonly mostOwed: Worst | undefined;
  /** Least time between two strokes, told where the later one is; undefined for fewer than two. */
  readonly leastSpacing: Worst | undefined;
}

export interface RunKeeper {
  /** What was last told to be owed; NaN before. */
  readonly owed: () => number;
  see(event: TraceEvent): void;
  readonly kept: () => RunKept;
}

/** `mark` is told the name of a moment that is the worst, or the first, of its kind so far. */
export function newRunKeeper(mark: (moment: string) => void): RunKeeper {
  const run = newBuckets(RUN_COLUMNS);
  const standing = newStanding();
  let owed = NaN;
  let strokeMicros: Micros | undefined;
  let mostOwed: Worst | undefined;
  let leastSpacing: Worst | undefined;
  let alarmed = false;

  const stroke = (kind: "paced" | "primed", atMicros: Micros): void => {
    run.put(kind, 1);
    const since = strokeMicros;
    strokeMicros = atMicros;
    if (since === undefined) return;
    const spacing = atMicros - since;
    run.put("spacingLeast", spacing);
    run.put("spacingMost", spacing);
    if (leastSpacing !== undefined && spacing >= leastSpacing.value) return;
    leastSpacing = { value: spacing, atMicros };
    mark("least-spacing");
  };
  const owes = (now: number, atMicros: Micros): void => {
    // What was owed until now belongs to the bucket too.
    if (!Number.isNaN(owed)) run.put("owedLeast", owed);
    run.put("owedLeast", now);
    run.put("owedMost", now);
    run.put("owedLast", now);
    owed = now;
    if (mostOwed !== undefined && now <= mostOwed.value) return;
    mostOwed = { value: now, atMicros };
    if (now > 0) mark("most-owed");
  };
  const stands = (before: number): void => {
    run.put("stood", before | standing.mask());
    run.put("standing", standing.mask());
  };

  return {
    owed: () => owed,
    see(event) {
      const { kind, atMicros } = event;
      const before = standing.mask();
      if (standing.see(event)) {
        run.reach(atMicros);
        stands(before);
        if (kind === "alarm-on" && !alarmed) {
          alarmed = true;
          mark("first-alarm");
        }
        return;
      }
      if (
        isStimulus(event) ||
        event.kind === "rejected" ||
        event.kind === "refused" ||
        event.kind === "fault"
      )
        return;
      run.reach(atMicros);
      if (event.kind === "counted" || event.kind === "ignored") run.put("contacts", event.contacts);
      else if (event.kind === "paced" || event.kind === "primed") stroke(event.kind, atMicros);
      else if (event.kind === "shed") run.put("shed", event.strokes);
      else if (event.kind === "status") owes(event.owed, atMicros);
    },
    kept: () => ({ run: run.kept(), mostOwed, leastSpacing }),
  };
}
