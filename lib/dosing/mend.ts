/**
 * Where no ratio serves well, what should change, and to what? Dosing layer; exact.
 *
 * Five things can change: the meter (water per contact), the solution (its strength), the pump (solution per stroke),
 * the dose and the still-water grace. Each mend changes one of them and leaves the others as they are. Throughout:
 * strokes per contact = contact volume · dose / (strength · stroke volume).
 */
import Fraction from "fraction.js";
import { strokesPerContact } from "./feed.js";
import { PLAUSIBLE_STRENGTH } from "./limits.js";
import { type Duration, fromSi, type Kind, quantity, type Quantity, type Volume } from "./quantity.js";
import type { RatioLimits } from "./ratio.js";
import type { Layout } from "./spacing.js";
import { type FeedDuty, lowestFlow, type Ratio } from "./types.js";
import { exact } from "./units.js";

/**
 * Why a change is advised:
 *
 * | purpose | after the change |
 * |---|---|
 * | whole-ratio | the ratio named in the mend, m:1 or 1:d, gives the wanted dose exactly |
 * | keep-up | the cap is enough at peak flow, with the margin |
 * | within-limits | the ratio named in the mend, at the edge of the limits, gives the wanted dose exactly |
 * | within-grace | what one contact earns can be fed, at the cap, before the still-water grace ends |
 * | spread-at-low | at the lowest flow the grace lasts from one contact to the next, so that `spread` has all of it |
 * | even-feed | one stroke's water is no more than {@link RIPPLE_MOST} of the mixing volume |
 */
export type Purpose =
  "whole-ratio" | "keep-up" | "within-limits" | "within-grace" | "spread-at-low" | "even-feed";

/** One change of a plan, and what it is good for. */
export interface MendOf<Name extends string, K extends Kind> {
  readonly change: Name;
  readonly purpose: Purpose;
  readonly from: Quantity<K>;
  readonly to: Quantity<K>;
  /** The ratio that is exact after the change; undefined where the ratio is to be chosen anew. */
  readonly ratio: Ratio | undefined;
  /** True where, after the change, the cap is enough at peak with the margin. */
  readonly hasMargin: boolean;
}

/** `meter`: water per contact. `pump`: solution per stroke, at the cap as it is. `grace`: in whole seconds. */
export type Mend =
  | MendOf<"meter", "volume">
  | MendOf<"pump", "volume">
  | MendOf<"solution", "strength">
  | MendOf<"dose", "dose">
  | MendOf<"grace", "duration">;

export interface MendTerms {
  readonly limits: RatioLimits;
  readonly marginPercent: number;
  readonly layout: Layout;
  readonly mixingVolume: Volume | undefined;
}

/**
 * Largest peak-to-peak ripple, as a part of the mean, that an even feed may leave after mixing.
 * Common practice, no source.
 */
export const RIPPLE_MOST = new Fraction(1, 5);
/** The longest still-water grace that the pacer takes. */
export const GRACE_MOST = quantity("duration", 1, "day");

/**
 * All the changes that would help; none where a whole ratio is exact already and keeps up. No solution is advised that
 * is stronger or weaker than usual ones.
 */
export function mendsFor(duty: FeedDuty, terms: MendTerms): Mend[] {
  const wanted = strokesPerContact(duty);
  const load = asked(duty, wanted, terms);
  const change = changer(duty, load);
  const mends = [
    ...keepUp(change, load),
    ...withinGrace(duty, wanted, terms, change),
    ...withinLimits(wanted, terms.limits, change),
    ...spreadAtLow(duty, wanted, terms, change),
    ...evenFeed(duty, wanted, terms.mixingVolume, change),
    ...wholeRatio(wanted, terms.limits, change),
  ];
  const { least, most } = PLAUSIBLE_STRENGTH;
  return mends.filter(
    ({ change, to }) => change !== "solution" || (to.si.gte(least.si) && to.si.lte(most.si)),
  );
}

/**
 * Peak-to-peak ripple over mean after one ideally mixed volume, fed one stroke for every `perStroke` of water: their
 * ratio, exactly. The highest is e/(1 − exp(−e)), the lowest exp(−e) of that, with e the ratio; so they differ by e.
 */
export function rippleAfter(perStroke: Volume, mixingVolume: Volume): Fraction {
  return perStroke.si.div(mixingVolume.si);
}

/** Strokes per minute that the wanted dose asks for at peak, with the margin, over the cap: above 1 is too many. */
function asked(duty: FeedDuty, wanted: Fraction, { marginPercent }: MendTerms): Fraction {
  const withMargin = exact(marginPercent).div(100).add(1);
  return wanted.mul(duty.peak.si).mul(60).div(duty.contactVolume.si).mul(withMargin).div(duty.capPerMinute);
}

interface Changer {
  meter(purpose: Purpose, times: Fraction, ratio?: Ratio): Mend;
  pump(purpose: Purpose, times: Fraction, ratio?: Ratio): Mend;
  solution(purpose: Purpose, times: Fraction, ratio?: Ratio): Mend;
  dose(purpose: Purpose, times: Fraction, ratio?: Ratio): Mend;
  /** To at least so many seconds; nothing where the pacer takes no such grace. */
  grace(purpose: Purpose, from: Duration, leastSeconds: Fraction): Mend[];
}

/** Makes mends that multiply one thing. `load` is what {@link asked} says before the change. */
function changer(duty: FeedDuty, load: Fraction): Changer {
  const times = <K extends Kind>(from: Quantity<K>, factor: Fraction) => ({
    from,
    to: fromSi(from.kind, from.si.mul(factor)),
  });
  const enough = (loadAfter: Fraction): boolean => loadAfter.lte(1);
  return {
    // The strokes per minute depend on the water, not on how many contacts it is cut into.
    meter: (purpose, factor, ratio) => ({
      change: "meter",
      purpose,
      ratio,
      ...times(duty.contactVolume, factor),
      hasMargin: enough(load),
    }),
    pump: (purpose, factor, ratio) => ({
      change: "pump",
      purpose,
      ratio,
      ...times(duty.strokeVolume, factor),
      hasMargin: enough(load.div(factor)),
    }),
    solution: (purpose, factor, ratio) => ({
      change: "solution",
      purpose,
      ratio,
      ...times(duty.strength, factor),
      hasMargin: enough(load.div(factor)),
    }),
    dose: (purpose, factor, ratio) => ({
      change: "dose",
      purpose,
      ratio,
      ...times(duty.dose, factor),
      hasMargin: enough(load.mul(factor)),
    }),
    grace: (purpose, from, leastSeconds) => {
      const to = fromSi("duration", leastSeconds.ceil());
      return to.si.gt(GRACE_MOST.si)
        ? []
        : [{ change: "grace", purpose, ratio: undefined, from, to, hasMargin: enough(load) }];
    },
  };
}

function keepUp(change: Changer, load: Fraction): Mend[] {
  if (load.lte(1)) return [];
  return [
    change.pump("keep-up", load),
    change.solution("keep-up", load),
    change.dose("keep-up", load.inverse()),
  ];
}

/** A contact whose strokes take longer than the grace at the cap loses some of them when the water then stops. */
function withinGrace(duty: FeedDuty, wanted: Fraction, { layout }: MendTerms, change: Changer): Mend[] {
  const fit = layout.grace.si.mul(duty.capPerMinute).div(60).floor();
  const most = wanted.ceil();
  if (most.lte(fit)) return [];
  const longer = change.grace("within-grace", layout.grace, most.mul(60).div(duty.capPerMinute));
  // Where not one stroke fits, no smaller or weaker contact does either.
  if (fit.equals(0)) return longer;
  const times = fit.div(wanted);
  return [
    ...longer,
    change.meter("within-grace", times),
    change.pump("within-grace", times.inverse()),
    change.solution("within-grace", times.inverse()),
  ];
}

function withinLimits(wanted: Fraction, limits: RatioLimits, change: Changer): Mend[] {
  const most = new Fraction(limits.strokes);
  const least = new Fraction(1, limits.contacts);
  if (wanted.gte(least) && wanted.lte(most)) return [];
  const edge = wanted.gt(most) ? most : least;
  const ratio = { strokes: Number(edge.n), contacts: Number(edge.d) };
  const times = edge.div(wanted);
  return [
    change.meter("within-limits", times, ratio),
    change.solution("within-limits", times.inverse(), ratio),
    change.pump("within-limits", times.inverse(), ratio),
  ];
}

/** With one stroke a contact or less there is nothing to spread; with enough mixing, no need to. */
function spreadAtLow(
  duty: FeedDuty,
  wanted: Fraction,
  { layout, mixingVolume }: MendTerms,
  change: Changer,
): Mend[] {
  const interval = duty.contactVolume.si.div(lowestFlow(duty).si);
  const isSpread = layout.cadence === "spread" && wanted.gt(1) && interval.gt(layout.grace.si);
  if (!isSpread || mixingVolume === undefined) return [];
  if (rippleAfter(duty.contactVolume, mixingVolume).lte(RIPPLE_MOST)) return [];
  return [
    ...change.grace("spread-at-low", layout.grace, interval),
    change.meter("spread-at-low", layout.grace.si.div(interval)),
  ];
}

/** Water per stroke depends on stroke and strength, not on the meter. */
function evenFeed(
  duty: FeedDuty,
  wanted: Fraction,
  mixingVolume: Volume | undefined,
  change: Changer,
): Mend[] {
  if (mixingVolume === undefined) return [];
  const perStroke = fromSi("volume", duty.contactVolume.si.div(wanted));
  const times = RIPPLE_MOST.div(rippleAfter(perStroke, mixingVolume));
  if (times.gte(1)) return [];
  return [change.solution("even-feed", times), change.pump("even-feed", times)];
}

/** The next whole ratio that asks for more strokes, by diluting; the nearest one, by any other change. */
function wholeRatio(wanted: Fraction, limits: RatioLimits, change: Changer): Mend[] {
  const up = wholeAtLeast(wanted);
  const down = wholeAtMost(wanted);
  const near = up.sub(wanted).lte(wanted.sub(down)) ? up : down;
  if (up.equals(wanted)) return [];
  const ratioOf = ({ n, d }: Fraction): Ratio => ({ strokes: Number(n), contacts: Number(d) });
  const allowed = ({ n, d }: Fraction): boolean =>
    n <= BigInt(limits.strokes) && d <= BigInt(limits.contacts);
  const mends: Mend[] = [];
  if (allowed(up)) mends.push(change.solution("whole-ratio", wanted.div(up), ratioOf(up)));
  if (allowed(near)) {
    mends.push(
      change.dose("whole-ratio", near.div(wanted), ratioOf(near)),
      change.pump("whole-ratio", wanted.div(near), ratioOf(near)),
      change.meter("whole-ratio", near.div(wanted), ratioOf(near)),
    );
  }
  return mends;
}

/** The least of m:1 and 1:d that is not below `value`. */
function wholeAtLeast(value: Fraction): Fraction {
  return value.gt(1) ? value.ceil() : value.inverse().floor().inverse();
}

/** The greatest of m:1 and 1:d that is not above `value`. */
function wholeAtMost(value: Fraction): Fraction {
  return value.gte(1) ? value.floor() : value.inverse().ceil().inverse();
}
