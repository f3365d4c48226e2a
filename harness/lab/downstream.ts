/**
 * What does the water look like after its mixing volume, through the day? The dosing layer's pipe. Harness layer.
 *
 * One ideally mixed volume, without decay, driven by the pattern's flow and the strokes of the run. It holds the wanted
 * dose at midnight. The curve is sampled where it jumps and, in between, closely enough that straight lines serve.
 */
import { fromSi, newPipe, numberIn, type PipeFigures, strokeVolumeOf } from "../../lib/dosing/index.js";
import { DAY, type Micros, MINUTE } from "../../lib/pacing/index.js";
import type { Track } from "./day.js";
import type { Stretch } from "./patterns.js";
import type { Values } from "./read.js";

export interface Downstream {
  /** Concentration, mg/L; between its times it runs straight. */
  readonly curve: Track;
  readonly figures: PipeFigures;
}

/** Samples to a turnover of the mixing volume, and between two events at most. */
const SAMPLES_A_TURNOVER = 8;
const SAMPLES_MOST = 32;
/** After so many turnovers nothing is left to see. */
const QUIET_TURNOVERS = 6;

/** Drives the pipe through a day. */
export function downstreamOf(values: Values, strokeMicros: Float64Array): Downstream {
  const { input, mixingVolume, stretches } = values;
  const litres = numberIn(mixingVolume, "L");
  const pipe = newPipe({
    mixingVolume,
    tanks: 1,
    strokeMass: fromSi("mass", strokeVolumeOf(input.stroke).si.mul(input.strength.si)),
    wanted: input.dose,
    start: input.dose,
  });
  const micros: number[] = [0];
  const value: number[] = [pipe.mgPerLitre];
  const sample = (atMicros: Micros): void => {
    pipe.advance(atMicros);
    micros.push(atMicros);
    value.push(pipe.mgPerLitre);
  };
  let nowMicros = 0;
  const goOn = (untilMicros: Micros, litresPerMinute: number): void => {
    const turnoverMicros = (litres / litresPerMinute) * MINUTE;
    const seenMicros = Math.min(untilMicros - nowMicros, QUIET_TURNOVERS * turnoverMicros);
    const count = Math.min(SAMPLES_MOST, Math.ceil((SAMPLES_A_TURNOVER * seenMicros) / turnoverMicros));
    for (let i = 1; i < count; i++) sample(nowMicros + (i * seenMicros) / count);
    sample(untilMicros);
    nowMicros = untilMicros;
  };
  let next = 0;
  for (const { fromMicros, untilMicros, litresPerMinute } of stretches) {
    pipe.flow(fromMicros, litresPerMinute / 60);
    for (; (strokeMicros[next] ?? Infinity) < untilMicros; next++) {
      goOn(strokeMicros[next] as number, litresPerMinute);
      pipe.stroke(nowMicros);
      sample(nowMicros);
    }
    goOn(untilMicros, litresPerMinute);
  }
  pipe.advance(DAY);
  return {
    curve: { micros: Float64Array.from(micros), value: Float64Array.from(value) },
    figures: pipe.figures(),
  };
}

/** Strokes made while no water flowed. */
export function intoStillWater(stretches: readonly Stretch[], strokeMicros: Float64Array): number {
  let [place, strokes] = [0, 0];
  for (const atMicros of strokeMicros) {
    while (place < stretches.length - 1 && (stretches[place] as Stretch).untilMicros <= atMicros) place += 1;
    if (stretches[place]?.litresPerMinute === 0) strokes += 1;
  }
  return strokes;
}
