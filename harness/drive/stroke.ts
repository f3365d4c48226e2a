/**
 * What becomes of the one stroke that is asked of the pump? Harness layer.
 *
 * One at a time; it ends as acknowledged, or as a fault of the pump, within {@link PATIENCE_MICROS}.
 */
import type { SchedulerLike } from "rxjs";
import type { Micros } from "../../lib/pacing/index.js";
import { FieldError, type FieldFault, type Pump } from "../field/field.js";

/** Longest that a stroke may go without a word of it, in µs; what carries it has a shorter limit of its own. */
export const PATIENCE_MICROS: Micros = 3_000_000;
/** A word of it that came while the program was held up is heard within so many ms after. */
const LATE_MILLIS = 250;

export interface Stroke {
  readonly number: number;
  readonly cause: "paced" | "primed";
}

export interface StrokeEars {
  readonly made: () => void;
  readonly failed: (fault: FieldFault) => void;
}

export interface PumpHand {
  /** Asked for, and not acknowledged: also after it failed, since it may have been made all the same. */
  readonly underWay: Stroke | undefined;
  /** Only while none is under way. */
  ask(stroke: Stroke): void;
  /** Resolves once the stroke under way, if any, has ended in one way or the other. */
  settled(): Promise<void>;
}

export function pumpHand(pump: Pump, scheduler: SchedulerLike, ears: StrokeEars): PumpHand {
  let underWay: Stroke | undefined;
  let settled: Promise<void> = Promise.resolve();
  return {
    get underWay() {
      return underWay;
    },
    settled: () => settled,
    ask(stroke) {
      underWay = stroke;
      settled = new Promise((resolve) => {
        let isOver = false;
        const over = (tell: () => void): void => {
          if (isOver) return;
          isOver = true;
          patience.unsubscribe();
          tell();
          resolve();
        };
        const dueMillis = scheduler.now() + PATIENCE_MICROS / 1_000;
        const lose = (): void => {
          over(() => {
            ears.failed(silence(pump, stroke.number));
          });
        };
        let patience = scheduler.schedule(() => {
          // Timers that are late act before what has arrived is read.
          if (scheduler.now() < dueMillis + LATE_MILLIS) lose();
          else patience = scheduler.schedule(lose, LATE_MILLIS);
        }, PATIENCE_MICROS / 1_000);
        pump.stroke(stroke.number).then(
          () => {
            over(() => {
              underWay = undefined;
              ears.made();
            });
          },
          (error: unknown) => {
            over(() => {
              ears.failed(error instanceof FieldError ? error.fault : defect(pump, error));
            });
          },
        );
      });
    },
  };
}

function silence(pump: Pump, number: number): FieldFault {
  return {
    kind: "silent",
    message: `${pump.about.spec}: the pump did not say that stroke ${number} has begun`,
    mend: "check its cable and its power",
  };
}

function defect(pump: Pump, error: unknown): FieldFault {
  const what = error instanceof Error ? error.message : String(error);
  return { kind: "nonsense", message: `${pump.about.spec}: ${what}`, mend: "check the pump and its cable" };
}
