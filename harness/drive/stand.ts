/**
 * How does a feed stand, as one record? Harness layer, pure.
 */
import { INHIBIT_CAUSES, type Micros, MINUTE, standingAlarms, type State } from "../../lib/pacing/index.js";
import { rateOf } from "../files/quantity.js";
import { talliesOf } from "../journal/tallies.js";
import type { DoseStatus, DriveStatus } from "./status.js";

/** What a contact and a stroke are, where a plan tells. */
export interface DoseTerms {
  readonly litresPerContact: number;
  readonly millilitresPerStroke: number;
  /** Of the solution, which is as many milligrams in a millilitre. */
  readonly gramsPerLitre: number;
  readonly wantedMilligramsPerLitre: number;
}

/** What a status is made of beside the state of the pacer. */
export interface Standing extends Pick<
  DriveStatus,
  "elapsedMicros" | "meter" | "pump" | "journal" | "uncertain" | "troubles"
> {
  /** Moments of the strokes of the last minute, or of more. */
  readonly strokeMicros: readonly Micros[];
  readonly nowMicros: Micros;
  readonly dose: DoseTerms | undefined;
}

export function statusOf(s: Readonly<State>, standing: Standing): DriveStatus {
  const { strokeMicros, nowMicros, dose: terms, uncertain, ...rest } = standing;
  const { strokes, contacts, leastSpacingMicros } = s.settings;
  const { counted, ...tallies } = talliesOf(s, uncertain);
  return {
    ...rest,
    ...tallies,
    ratio: `${strokes}:${contacts}`,
    contacts: counted,
    remainderOf: contacts,
    strokesPerMinute: strokeMicros.filter((atMicros) => atMicros > nowMicros - MINUTE).length,
    capPerMinute: rateOf(leastSpacingMicros),
    held: s.held === 1,
    tripped: s.tripped === 1,
    priming: s.priming === 1,
    inhibits: INHIBIT_CAUSES.filter((_, i) => (s.inhibits & (1 << i)) !== 0),
    alarms: standingAlarms(s),
    ...(terms === undefined ? {} : { dose: doseOf(s, terms) }),
  };
}

/** Of all water that passed, also where its contacts were ignored; a contact that was rejected was none. */
function doseOf({ counted, ignored, paced, primed }: Readonly<State>, terms: DoseTerms): DoseStatus {
  const litres = (counted + ignored) * terms.litresPerContact;
  const millilitres = (paced + primed) * terms.millilitresPerStroke;
  return {
    litres,
    millilitres,
    milligramsPerLitre: litres === 0 ? undefined : (millilitres * terms.gramsPerLitre) / litres,
    wantedMilligramsPerLitre: terms.wantedMilligramsPerLitre,
  };
}
