/**
 * What would the water of a plan look like after its mixing volume, with each cadence? Harness layer.
 *
 * The pacer itself makes the strokes, at each steady flow of the plan; one ideally mixed volume evens them out, without
 * decay. It is arithmetic about an ideal, no measurement: a real pipe mixes less well.
 */
import {
  drivePipe,
  fromSi,
  newPipe,
  numberIn,
  type PassingEvent,
  type PipeFigures,
  type Plan,
} from "../../lib/dosing/index.js";
import type { Cadence, Settings } from "../../lib/pacing/index.js";
import { runModel } from "../devices/model.js";
import { coreSettingsOf, settingsFindings, settingsOfPlan } from "./settings.js";

/** One flow of the plan, followed downstream. Shares are parts of the water. */
export interface Downstream {
  readonly at: "low" | "typical" | "peak";
  readonly cadence: Cadence;
  readonly peakToMean: number;
  readonly underWanted: number;
  /** Under 80 % and under half of the wanted dose. */
  readonly under80Percent: number;
  readonly underHalf: number;
}

/** Contacts until the pacer has found its stride. */
const SETTLING_CONTACTS = 60;
/** Strokes that are followed, at most; a whole round of the ratio where that is fewer. */
const STROKES_MOST = 1_000;

/** Both cadences at each flow; nothing where the mixing volume is not known or the pacer refuses the settings. */
export function downstreamOf(plan: Plan): Downstream[] {
  const { mixingVolume, turndown } = plan;
  if (mixingVolume === undefined || settingsFindings(plan).length > 0) return [];
  return turndown.rows.flatMap((row) =>
    (["spread", "prompt"] as const).flatMap((cadence): Downstream[] => {
      const settings = coreSettingsOf({ ...settingsOfPlan(plan), cadence });
      const { peakToMean, under } = followed(plan, settings, numberIn(row.flow, "L/min"));
      const [wanted = NaN, most = NaN, half = NaN] = under.map(({ share }) => share ?? NaN);
      if (peakToMean === undefined) return [];
      return [
        { at: row.at, cadence, peakToMean, underWanted: wanted, under80Percent: most, underHalf: half },
      ];
    }),
  );
}

function followed(plan: Plan, settings: Settings, litresPerMin: number): PipeFigures {
  const { best, duty, mixingVolume } = plan;
  const contactMicros = (numberIn(duty.contactVolume, "L") / litresPerMin) * 60_000_000;
  const atContact = (k: number): number => Math.round(k * contactMicros);
  const settling = Math.ceil(SETTLING_CONTACTS / best.contacts) * best.contacts;
  const rounds = Math.max(1, Math.floor(STROKES_MOST / best.strokes / 2));
  const followedContacts = Math.min(rounds * best.contacts, 10 * SETTLING_CONTACTS * best.contacts);
  const last = settling + followedContacts;
  const pipe = newPipe({
    mixingVolume: mixingVolume ?? duty.contactVolume,
    tanks: 1,
    strokeMass: fromSi("mass", duty.strokeVolume.si.mul(duty.strength.si)),
    wanted: duty.dose,
    // What the mixing volume comes to anyway; so it need not be filled first.
    start: best.dose,
    countFromMicros: atContact(settling),
  });
  const driver = drivePipe(pipe, duty.contactVolume);
  const run = runModel(settings, (event: PassingEvent) => {
    driver.take(event);
  });
  for (let k = 1; k <= last; k++) run.give({ kind: "contact", atMicros: atContact(k) });
  driver.end(atContact(last));
  return pipe.figures();
}
