/**
 * Which ratios m:d come closest to what a contact is worth? Dosing layer; exact, no floating point.
 *
 * The ratios m:d with both terms within limits, in lowest terms and in order, are neighbours in the Stern-Brocot
 * tree: of two that stand side by side, a/b < c/d, always c·b − a·d = 1, and any fraction between them has larger
 * terms than both together. So a descent towards the target, taking whole runs of turns at once (which visits the
 * semiconvergents, not only the convergents), ends at the nearest ratio on either side; and from two neighbours the
 * next one follows by arithmetic.
 * Source: Graham, Knuth, Patashnik, Concrete Mathematics, 2nd ed., Addison-Wesley 1994, section 4.5.
 */
import Fraction from "fraction.js";
import { RATIO_TERM_MAX } from "../pacing/index.js";
import type { Ratio } from "./types.js";

/** The largest terms that a ratio may have, each from 1 to {@link RATIO_TERM_MAX}. */
export interface RatioLimits {
  readonly strokes: number;
  readonly contacts: number;
}

/** The nearest ratio that is not above, and the nearest that is not below; the same one where the target is met. */
export interface Neighbours {
  readonly below: Ratio | undefined;
  readonly above: Ratio | undefined;
}

/** The ratio as a fraction: strokes per contact. */
export function fractionOfRatio({ strokes, contacts }: Ratio): Fraction {
  return new Fraction(strokes, contacts);
}

/** The nearest ratios within `limits` on either side of `target`; undefined where there is none on that side. */
export function neighbours(target: Fraction, limits: RatioLimits): Neighbours {
  checkLimits(limits);
  if (target.lte(0)) {
    return { below: undefined, above: { strokes: 1, contacts: limits.contacts } };
  }
  const node = descend(target, limits);
  return { below: ratioOf(node.below), above: ratioOf(node.above) };
}

/** The ratio within `limits` that is nearest to `target`; of two equally near, the one with the smaller terms. */
export function nearestRatio(target: Fraction, limits: RatioLimits): Ratio {
  const { below, above } = neighbours(target, limits);
  if (below === undefined || above === undefined) return (below ?? above) as Ratio;
  const nearer = distance(below, target).compare(distance(above, target));
  if (nearer !== 0) return nearer < 0 ? below : above;
  return below.strokes + below.contacts <= above.strokes + above.contacts ? below : above;
}

/**
 * Every ratio within `limits` from `least` to `most`, both included, in rising order, one at a time. How many there
 * are grows with the product of the limits: whoever takes them sets an end.
 */
export function* ratiosBetween(least: Fraction, most: Fraction, limits: RatioLimits): Generator<Ratio, void> {
  checkLimits(limits);
  if (most.lte(0)) return;
  const first = firstPair(least, limits);
  let last = first.before;
  let next = first.start;
  while (next.under !== 0n && most.gte(new Fraction(next.over, next.under))) {
    yield { strokes: Number(next.over), contacts: Number(next.under) };
    [last, next] = [next, after(last, next, limits)];
  }
}

/** A node of the tree; 0/1 and 1/0 are its ends and no ratios. */
interface Node {
  readonly over: bigint;
  readonly under: bigint;
}

const NOTHING: Node = { over: 0n, under: 1n };
const INFINITE: Node = { over: 1n, under: 0n };

/** The neighbours around a target above 0; both are the target itself where it is within the limits. */
function descend(target: Fraction, limits: RatioLimits): { readonly below: Node; readonly above: Node } {
  // Signed apart in the library: above 0 here, so the terms are n and d.
  const { n: numerator, d: denominator } = target;
  let below = NOTHING;
  let above = INFINITE;
  for (;;) {
    // By how much, cross-multiplied, each end misses the target: 0 where it is the target.
    const fromBelow = numerator * below.under - denominator * below.over;
    const fromAbove = denominator * above.over - numerator * above.under;
    if (fromBelow === 0n) return { below, above: below };
    if (fromAbove === 0n) return { below: above, above };
    // An end may be reached itself, but not passed: moving `below` by the run leaves it at or under the target.
    const up = least(fromBelow / fromAbove, roomFor(below, above, limits));
    if (up > 0n) {
      below = moved(below, above, up);
      continue;
    }
    const down = least(fromAbove / fromBelow, roomFor(above, below, limits));
    if (down === 0n) return { below, above };
    above = moved(above, below, down);
  }
}

/** The first ratio at or above `start`, and one below that {@link after} can go on from. */
function firstPair(start: Fraction, limits: RatioLimits): { readonly before: Node; readonly start: Node } {
  if (start.lte(0)) {
    return { before: NOTHING, start: { over: 1n, under: BigInt(limits.contacts) } };
  }
  const { below, above } = descend(start, limits);
  if (below !== above) return { before: below, start: above };
  return { before: lowerParent(above), start: above };
}

/** The lower parent of a node, a/b with over·b − a·under = 1, by Euclid's algorithm. */
function lowerParent({ over, under }: Node): Node {
  let [oldRest, rest] = [over, under];
  let [oldFactor, factor] = [1n, 0n];
  while (rest !== 0n) {
    const quotient = oldRest / rest;
    [oldRest, rest] = [rest, oldRest - quotient * rest];
    [oldFactor, factor] = [factor, oldFactor - quotient * factor];
  }
  // b is the inverse of `over` modulo `under`.
  const b = ((oldFactor % under) + under) % under;
  return { over: (over * b - 1n) / under, under: b };
}

/**
 * The neighbour above `node`, given one below it: the neighbour itself, or any a/b with over·b − a·under = 1, since
 * those differ by whole runs of `node`, which the limits give back.
 */
function after(before: Node, node: Node, limits: RatioLimits): Node {
  const byStrokes = (BigInt(limits.strokes) + before.over) / node.over;
  const byContacts = (BigInt(limits.contacts) + before.under) / node.under;
  const runs = least(byStrokes, byContacts);
  return { over: runs * node.over - before.over, under: runs * node.under - before.under };
}

/** How many times `by` can be added to `node` within the limits. */
function roomFor(node: Node, by: Node, limits: RatioLimits): bigint {
  const strokes = by.over === 0n ? undefined : (BigInt(limits.strokes) - node.over) / by.over;
  const contacts = by.under === 0n ? undefined : (BigInt(limits.contacts) - node.under) / by.under;
  if (strokes === undefined) return contacts as bigint;
  return contacts === undefined ? strokes : least(strokes, contacts);
}

function moved(node: Node, by: Node, times: bigint): Node {
  return { over: node.over + times * by.over, under: node.under + times * by.under };
}

function ratioOf({ over, under }: Node): Ratio | undefined {
  return over === 0n || under === 0n ? undefined : { strokes: Number(over), contacts: Number(under) };
}

function distance(ratio: Ratio, target: Fraction): Fraction {
  return fractionOfRatio(ratio).sub(target).abs();
}

function least(a: bigint, b: bigint): bigint {
  return a < b ? a : b;
}

function checkLimits({ strokes, contacts }: RatioLimits): void {
  for (const limit of [strokes, contacts]) {
    if (!Number.isInteger(limit) || limit < 1 || limit > RATIO_TERM_MAX) {
      throw new RangeError(`a ratio's limit is ${limit}, not a whole number from 1 to ${RATIO_TERM_MAX}`);
    }
  }
}
