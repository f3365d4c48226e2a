/**
 * Which ratio gives the wanted dose? Every ratio within limits and tolerance, judged exactly and ranked. Dosing layer.
 *
 * Best first: keeps up at peak with the margin, then without it; smallest dose error, of either sign; shortest
 * stretch of water without a stroke at low flow; smallest numbers. Large terms cost nothing in evenness, because the
 * pacer carries the remainder exactly, so a smaller error ranks before numbers that are easier to set.
 */
import type Fraction from "fraction.js";
import { doseOfRatio, strokesPerContact, strokesPerMinute } from "./feed.js";
import { type Mend, mendsFor } from "./mend.js";
import type { Volume } from "./quantity.js";
import { fractionOfRatio, neighbours, type RatioLimits, ratiosBetween } from "./ratio.js";
import { type Layout, LAYOUT_DEFAULT, type Spacing, spacingAt } from "./spacing.js";
import { type Candidate, type FeedDuty, lowestFlow, type Ratio } from "./types.js";
import { exact } from "./units.js";

export interface ChoiceTerms {
  /** Default {@link LIMITS_DEFAULT}. */
  readonly limits?: RatioLimits | undefined;
  /** Largest dose error of either sign, percent of the wanted dose, 0 to below 100; default {@link TOLERANCE_PERCENT}. */
  readonly tolerancePercent?: number | undefined;
  /** What the cap must have to spare at peak, percent of the strokes asked for; default {@link MARGIN_PERCENT}. */
  readonly marginPercent?: number | undefined;
  /** Most candidates in the answer; default {@link CANDIDATES_MOST}. */
  readonly most?: number | undefined;
  /** Default {@link LAYOUT_DEFAULT}. */
  readonly layout?: Layout | undefined;
  /** Water that mixes after the injection point; with it, advice on an even feed is given. */
  readonly mixingVolume?: Volume | undefined;
}

/** Common practice, no source: numbers of two digits, that a person can set and read back. */
export const LIMITS_DEFAULT: RatioLimits = { strokes: 100, contacts: 100 };
/**
 * Largest error that a class 2 water meter may have in its upper range: a finer dose is not measured anyway.
 * Source: OIML R 49-1, Water meters, OIML, 2013, maximum permissible errors (2 % from Q2 to Q4).
 */
export const TOLERANCE_PERCENT = 2;
/** Common practice, no source. With nothing to spare, what a surge leaves owed is never caught up. */
export const MARGIN_PERCENT = 10;
export const CANDIDATES_MOST = 20;
/** Most ratios that are judged; where there are more, the tolerance is halved until there are not. */
export const JUDGED_MOST = 20_000;

/** One ratio, judged and ranked. `keepsUp` is within the cap as such, `hasMargin` with the margin as well. */
export interface RankedCandidate extends Candidate {
  readonly hasMargin: boolean;
  /** What the cap has to spare at peak, in percent of the strokes asked for; below 0 where it is too slow. */
  readonly sparePercentAtPeak: number;
  /** Between strokes at the lowest flow that is known. */
  readonly spacingAtLow: Spacing;
}

export interface Choice {
  /** What a contact is worth, exact, in strokes. */
  readonly strokesPerContact: Fraction;
  /** Best first; empty where no ratio within the limits meets the tolerance. */
  readonly candidates: readonly RankedCandidate[];
  /** The ratio within the limits that misses the dose least, within the tolerance or not. */
  readonly nearest: RankedCandidate;
  /** True where the best candidate keeps up at peak. */
  readonly serves: boolean;
  /** What could be changed, and to what, so that a ratio serves, or serves better. */
  readonly mends: readonly Mend[];
  /** The terms that were used. */
  readonly limits: RatioLimits;
  readonly tolerancePercent: number;
  readonly marginPercent: number;
}

/** Throws a RangeError for limits that no ratio can have, and for a tolerance or margin out of range. */
export function chooseRatio(duty: FeedDuty, terms: ChoiceTerms = {}): Choice {
  const {
    limits = LIMITS_DEFAULT,
    tolerancePercent = TOLERANCE_PERCENT,
    marginPercent = MARGIN_PERCENT,
  } = terms;
  checkPercent("tolerance", tolerancePercent, 100);
  checkPercent("margin", marginPercent, 1_000);
  const layout = terms.layout ?? LAYOUT_DEFAULT;
  const wanted = strokesPerContact(duty);
  const judge = judgeOf(duty, wanted, marginPercent, layout);
  const near = nearestTwo(wanted, limits).map(judge);
  const within = ratiosWithin(wanted, limits, tolerancePercent).map(judge);
  const candidates = within.sort(byRank).slice(0, terms.most ?? CANDIDATES_MOST);
  const best = candidates[0];
  const nearest = near.sort((a, b) => a.missed.compare(b.missed))[0] as Judged;
  return {
    strokesPerContact: wanted,
    candidates: candidates.map((judged) => candidateOf(duty, wanted, judged)),
    nearest: candidateOf(duty, wanted, nearest),
    serves: best !== undefined && best.fit > 0,
    // Where a ratio gives the dose that was asked for, no other dose is advised for the sake of a rounder one.
    mends: mendsFor(duty, { limits, marginPercent, layout, mixingVolume: terms.mixingVolume }).filter(
      ({ change, purpose }) => best === undefined || change !== "dose" || purpose !== "whole-ratio",
    ),
    limits,
    tolerancePercent,
    marginPercent,
  };
}

/** What ranking looks at, and no more: hundreds are judged, few are answered. */
interface Judged {
  readonly ratio: Ratio;
  /** 2 keeps up with the margin, 1 without it, 0 does not. */
  readonly fit: 0 | 1 | 2;
  /** Distance from the wanted strokes per contact. */
  readonly missed: Fraction;
  readonly spacing: () => Spacing;
}

function judgeOf(
  duty: FeedDuty,
  wanted: Fraction,
  marginPercent: number,
  layout: Layout,
): (ratio: Ratio) => Judged {
  const contactsPerMinute = duty.peak.si.mul(60).div(duty.contactVolume.si);
  const most = duty.capPerMinute.div(contactsPerMinute);
  const mostWithMargin = most.div(exact(marginPercent).div(100).add(1));
  return (ratio) => {
    const value = fractionOfRatio(ratio);
    const fit = value.lte(mostWithMargin) ? 2 : value.lte(most) ? 1 : 0;
    // Needed only where errors tie, so only worked out there.
    let known: Spacing | undefined;
    const spacing = (): Spacing => (known ??= spacingAt(ratio, lowestFlow(duty), duty, layout));
    return { ratio, fit, missed: value.sub(wanted).abs(), spacing };
  };
}

function byRank(a: Judged, b: Judged): number {
  return (
    b.fit - a.fit ||
    a.missed.compare(b.missed) ||
    a.spacing().longest.water.si.compare(b.spacing().longest.water.si) ||
    a.ratio.strokes + a.ratio.contacts - b.ratio.strokes - b.ratio.contacts
  );
}

function candidateOf(duty: FeedDuty, wanted: Fraction, { ratio, fit, spacing }: Judged): RankedCandidate {
  const asked = strokesPerMinute(ratio, duty.peak, duty.contactVolume);
  return {
    ...ratio,
    dose: doseOfRatio(ratio, duty),
    errorPercent: percentAbove(fractionOfRatio(ratio), wanted),
    strokesPerMinuteAtPeak: asked.valueOf(),
    keepsUp: fit > 0,
    hasMargin: fit === 2,
    sparePercentAtPeak: percentAbove(duty.capPerMinute, asked),
    spacingAtLow: spacing(),
  };
}

function percentAbove(value: Fraction, base: Fraction): number {
  return value.div(base).sub(1).mul(100).valueOf();
}

function nearestTwo(wanted: Fraction, limits: RatioLimits): Ratio[] {
  const { below, above } = neighbours(wanted, limits);
  return [below, above].filter((ratio) => ratio !== undefined);
}

/** The ratios within the tolerance; where there are too many, the nearest of them. */
function ratiosWithin(wanted: Fraction, limits: RatioLimits, tolerancePercent: number): Ratio[] {
  let window = wanted.mul(exact(tolerancePercent)).div(100);
  const near = nearestTwo(wanted, limits).filter((ratio) =>
    fractionOfRatio(ratio).sub(wanted).abs().lte(window),
  );
  for (;;) {
    const found: Ratio[] = [];
    for (const ratio of ratiosBetween(wanted.sub(window), wanted.add(window), limits)) {
      if (found.push(ratio) > JUDGED_MOST) break;
    }
    // A halved window can fall into the gap around a ratio of small terms and hold nothing.
    if (found.length <= JUDGED_MOST) return found.length > 0 ? found : near;
    window = window.div(2);
  }
}

function checkPercent(name: string, percent: number, below: number): void {
  if (!(percent >= 0 && percent < below)) {
    throw new RangeError(`the ${name} is ${percent} %, not from 0 to below ${below} %`);
  }
}
