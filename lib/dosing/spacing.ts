/**
 * How far apart do strokes fall at a steady flow, in water and in time? Dosing layer; exact.
 *
 * A contact earns ⌊m/d⌋ or ⌈m/d⌉ strokes. `spread` puts c strokes in the middles of c equal slices of the contact
 * interval, or of the still-water grace where that is shorter; where the slices are shorter than the cap allows it
 * begins at once. `prompt` always does, as far apart as the cap allows. Between strokes lies water that has had none of
 * its own: it is evened out by mixing or not at all.
 */
import Fraction from "fraction.js";
import { type Duration, type Flow, fromSi, type Volume } from "./quantity.js";
import type { FeedDuty, Ratio } from "./types.js";

/** What decides where within a contact interval strokes fall. */
export interface Layout {
  readonly cadence: "spread" | "prompt";
  /** The still-water grace. */
  readonly grace: Duration;
}

/** Between one stroke and the next. */
export interface Stretch {
  readonly water: Volume;
  readonly time: Duration;
}

export interface Spacing {
  readonly mean: Stretch;
  readonly longest: Stretch;
}

/** What spacing needs to know of meter and pump. */
export type Metering = Pick<FeedDuty, "contactVolume" | "capPerMinute">;

/** The layout that the pacer has unless told otherwise. */
export const LAYOUT_DEFAULT: Layout = { cadence: "spread", grace: fromSi("duration", new Fraction(90)) };

/** The least time between strokes that the cap allows. */
export function leastSpacing(capPerMinute: Fraction): Duration {
  return fromSi("duration", new Fraction(60).div(capPerMinute));
}

/**
 * Mean and longest stretch between strokes at a steady flow. Where the cap bites, strokes come at the cap. Just below,
 * where a contact's strokes do not quite fit between it and the next, the longest is an upper bound.
 */
export function spacingAt(ratio: Ratio, flow: Flow, meter: Metering, layout: Layout): Spacing {
  const least = leastSpacing(meter.capPerMinute).si;
  const meanTime = meter.contactVolume.si.mul(ratio.contacts).div(ratio.strokes).div(flow.si);
  const stretch = (time: Fraction): Stretch => ({
    water: fromSi("volume", time.mul(flow.si)),
    time: fromSi("duration", time),
  });
  if (meanTime.lte(least)) return { mean: stretch(least), longest: stretch(least) };
  const interval = meter.contactVolume.si.div(flow.si);
  const parts: Parts = {
    span: smaller(layout.grace.si.div(interval), new Fraction(1)),
    capped: least.div(interval),
    cadence: layout.cadence,
  };
  const most = new Fraction(ratio.strokes, ratio.contacts).ceil();
  const fits = parts.capped.mul(most).lte(parts.span);
  const inContacts = fits ? longestInContacts(ratio, parts) : longestCrowded(ratio, parts);
  const longest = inContacts.mul(interval);
  return { mean: stretch(meanTime), longest: stretch(longest.lt(least) ? least : longest) };
}

/** All in parts of one contact interval: the span that strokes are laid over, and the least spacing. */
interface Parts {
  readonly span: Fraction;
  readonly capped: Fraction;
  readonly cadence: "spread" | "prompt";
}

/** From the last stroke of a contact that earned `before` to the first of one that earned `after`, `apart` later. */
interface Gap {
  readonly before: number;
  readonly after: number;
  /** In contacts; 0 between two strokes of one contact. */
  readonly apart: number;
}

/** The longest stretch in a whole round of d contacts, as a number of contact intervals. */
function longestInContacts(ratio: Ratio, parts: Parts): Fraction {
  const gaps = gapsOfRound(ratio).map((gap) => lengthOf(gap, parts));
  return gaps.reduce((longest, gap) => (gap.gt(longest) ? gap : longest));
}

/**
 * The same where a contact's many strokes need longer, at the cap, than there is until the next contact. `spread` then
 * begins at once, and what is still owed when the next contact comes goes on at once as well. The longest is from the
 * last of many, made as early as can be, to the first slice of a contact of few: an upper bound, reached where the
 * strokes only just do not fit.
 */
function longestCrowded(ratio: Ratio, parts: Parts): Fraction {
  const few = Math.floor(ratio.strokes / ratio.contacts);
  if (few === 0 || parts.cadence === "prompt") return longestInContacts(ratio, parts);
  const { capped } = parts;
  const half = new Fraction(1, 2 * few);
  // Many begin late by what the stroke before them makes them wait, be it one of few or of many.
  const late = smaller(capped.mul(few + 1).sub(1), larger(capped.sub(half), new Fraction(0)));
  const manyToFew = half.add(1).sub(capped.mul(few)).sub(late);
  const inFew = gapsOfRound(ratio).some(({ before, after }) => before === few && after === few);
  return inFew ? larger(manyToFew, new Fraction(1, few)) : manyToFew;
}

function lengthOf({ before, after, apart }: Gap, { span, capped, cadence }: Parts): Fraction {
  if (apart === 0) return cadence === "prompt" ? capped : span.div(before);
  if (cadence === "prompt") return capped.mul(1 - before).add(apart);
  const halves = new Fraction(1, 2 * before).add(new Fraction(1, 2 * after));
  return span.mul(halves.sub(1)).add(apart);
}

/**
 * The kinds of gap that a round of d contacts has, each once. There are few: neighbouring contacts earn numbers
 * that differ by at most one, and so do the distances between contacts that earn anything.
 */
function gapsOfRound({ strokes, contacts }: Ratio): Gap[] {
  const gaps = new Map<string, Gap>();
  const note = (gap: Gap): void => void gaps.set(`${gap.before} ${gap.after} ${gap.apart}`, gap);
  const earned = (k: number): number =>
    Math.floor(((k + 1) * strokes) / contacts) - Math.floor((k * strokes) / contacts);
  // The last contact of a round always earns: it pays off the remainder. So start from it.
  let before = earned(contacts - 1);
  let apart = 0;
  for (let k = 0; k < contacts; k++) {
    apart += 1;
    const after = earned(k);
    if (after === 0) continue;
    note({ before, after, apart });
    if (after > 1) note({ before: after, after, apart: 0 });
    before = after;
    apart = 0;
  }
  return [...gaps.values()];
}

function smaller(a: Fraction, b: Fraction): Fraction {
  return a.lt(b) ? a : b;
}

function larger(a: Fraction, b: Fraction): Fraction {
  return a.gt(b) ? a : b;
}
