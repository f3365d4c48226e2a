/**
 * What would the water be like after the mixing volume, if it mixed ideally? Followed along a run. Harness layer.
 *
 * Arithmetic about one ideally mixed volume without decay, as `plan` reckons it: no measurement of any water.
 */
import {
  drivePipe,
  fromSi,
  newPipe,
  numberIn,
  type Pipe,
  type PipeFigures,
  type Plan,
} from "../../../lib/dosing/index.js";
import type { Micros } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import { newBuckets } from "./buckets.js";
import { DOWNSTREAM_COLUMNS, type DownstreamSeries } from "./series.js";

/** What a contact and a stroke are worth, and where the dose mixes. */
export interface Water {
  readonly litresPerContact: number;
  readonly wantedMgPerLitre: number;
  readonly mixingLitres: number;
  readonly plan: Plan;
}

export interface DownstreamDrawn {
  readonly series: DownstreamSeries;
  readonly figures: PipeFigures;
  readonly water: Omit<Water, "plan">;
}

/** What a plan tells of the water. Where it names no volume that mixes, that of one contact stands in for it. */
export function waterOf(plan: Plan): Water {
  return {
    litresPerContact: numberIn(plan.duty.contactVolume, "L"),
    wantedMgPerLitre: numberIn(plan.duty.dose, "mg/L"),
    mixingLitres: numberIn(plan.mixingVolume ?? plan.duty.contactVolume, "L"),
    plan,
  };
}

export function newDownstream(water: Water): {
  see(event: TraceEvent): void;
  readonly drawn: (endMicros: Micros) => DownstreamDrawn;
} {
  const { plan, ...told } = water;
  const { duty } = plan;
  const series = newBuckets(DOWNSTREAM_COLUMNS);
  const pipe = newPipe({
    mixingVolume: plan.mixingVolume ?? duty.contactVolume,
    tanks: 1,
    strokeMass: fromSi("mass", duty.strokeVolume.si.mul(duty.strength.si)),
    wanted: duty.dose,
    start: duty.dose,
  });
  const note = (atMicros: Micros): void => {
    series.reach(atMicros);
    for (const name of ["least", "most", "last"] as const) series.put(name, pipe.mgPerLitre);
  };
  // Within one mixed volume the concentration only falls between strokes: its extremes are at what happens.
  const watched: Pipe = {
    get mgPerLitre() {
      return pipe.mgPerLitre;
    },
    flow(atMicros, litresPerSecond) {
      pipe.flow(atMicros, litresPerSecond);
      note(atMicros);
    },
    stroke(atMicros) {
      pipe.advance(atMicros);
      note(atMicros);
      pipe.stroke(atMicros);
      note(atMicros);
    },
    advance(atMicros) {
      pipe.advance(atMicros);
      note(atMicros);
    },
    figures: () => pipe.figures(),
  };
  const driver = drivePipe(watched, duty.contactVolume);
  return {
    see(event) {
      driver.take(event);
    },
    drawn(endMicros) {
      driver.end(endMicros);
      return { series: series.kept(), figures: pipe.figures(), water: told };
    },
  };
}
