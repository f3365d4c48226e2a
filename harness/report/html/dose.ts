/**
 * Which water got its dose? What was asked and what was fed, over the water that passed. Harness layer.
 *
 * Kept in lots of equally many contacts, which merge as a run grows. Asked is contacts times the ratio in force, exact
 * to a part of a stroke; the device's own accounts are not believed. Fed to a lot is what was stroked from its first
 * contact on until the next lot began. Contacts that were ignored are water too: they ask, though nothing was earned.
 */
import type { Settings } from "../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../lib/trace/index.js";
import { type Columns, type Kept, newBuckets } from "./buckets.js";

/** Most lots that are kept. */
const LOTS_MOST = 1_024;

/** Columns over water, counted in contacts. */
export const DOSE_COLUMNS = {
  contacts: "sum",
  /** Strokes. */
  asked: "sum",
  paced: "sum",
  primed: "sum",
  /** Paced strokes less those that all contacts that earned were worth: as low and as high as it went. */
  aheadLeast: "least",
  aheadMost: "most",
} as const satisfies Columns;

/** Here `widthMicros` and `at` of the buckets are contacts. */
export type DoseSeries = Kept<typeof DOSE_COLUMNS>;

export interface Dose {
  see(event: TraceEvent): void;
  readonly kept: () => DoseSeries;
}

export function newDose(settings: Settings): Dose {
  const lots = newBuckets(DOSE_COLUMNS, LOTS_MOST);
  let ratio = settings;
  let before = settings;
  let passed = 0;
  // Contacts that earned under the ratio in force, and what all earlier ratios gave, less what was paced.
  let earning = 0;
  let settled = 0;
  let begun = false;

  const ahead = (): void => {
    const value = settled - (earning * ratio.strokes) / ratio.contacts;
    lots.put("aheadLeast", value);
    lots.put("aheadMost", value);
  };
  const change = (to: Settings): void => {
    settled -= (earning * ratio.strokes) / ratio.contacts;
    earning = 0;
    before = ratio;
    ratio = to;
  };
  const water = (contacts: number): void => {
    lots.reach(passed);
    begun = true;
    passed += contacts;
    lots.put("contacts", contacts);
    lots.put("asked", (contacts * ratio.strokes) / ratio.contacts);
  };

  return {
    see(event) {
      const { kind } = event;
      if (kind === "settings") change(event.settings);
      else if (kind === "refused") change(before);
      else if (kind === "counted" || kind === "ignored") {
        water(event.contacts);
        if (kind === "counted") earning += event.contacts;
        ahead();
      } else if (kind === "paced" || kind === "primed") {
        if (kind === "paced") settled += 1;
        // Before the first contact there is no water to tell of.
        if (!begun) return;
        lots.put(kind, 1);
        ahead();
      }
    },
    kept: lots.kept,
  };
}
