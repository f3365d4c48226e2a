/**
 * How much water passed between two strokes, at most? Harness layer.
 *
 * A stretch begins with the first contact after a stroke (or after the start) and ends with the next stroke. One that
 * no stroke ended, at the end of the log, counts up to its last contact.
 */
import type { Micros } from "../../lib/pacing/index.js";

export interface DryStretch {
  readonly contacts: number;
  /** Time of its first contact. */
  readonly fromMicros: Micros;
  readonly untilMicros: Micros;
}

export function tallyDry(): {
  water(atMicros: Micros, contacts: number): void;
  stroke(atMicros: Micros): void;
  /** The one with the most contacts; of equals the longer one. */
  readonly longest: () => DryStretch | undefined;
} {
  let longest: DryStretch | undefined;
  let present: DryStretch | undefined;
  return {
    water(atMicros, contacts) {
      present = {
        contacts: (present?.contacts ?? 0) + contacts,
        fromMicros: present?.fromMicros ?? atMicros,
        untilMicros: atMicros,
      };
    },
    stroke(atMicros) {
      if (present === undefined) return;
      longest = greater(longest, { ...present, untilMicros: atMicros });
      present = undefined;
    },
    longest: () => (present === undefined ? longest : greater(longest, present)),
  };
}

function greater(a: DryStretch | undefined, b: DryStretch): DryStretch {
  if (a === undefined || b.contacts > a.contacts) return b;
  const span = ({ fromMicros, untilMicros }: DryStretch): Micros => untilMicros - fromMicros;
  return b.contacts === a.contacts && span(b) > span(a) ? b : a;
}
