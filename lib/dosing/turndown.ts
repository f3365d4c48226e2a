/**
 * How does one ratio behave from the lowest flow to the peak? Dosing layer; exact but for the ageing of the stock.
 *
 * Up to the flow at which the cap bites the dose is that of the ratio at every flow; beyond it strokes come at the cap
 * and the dose falls as the flow rises, the rest being shed.
 */
import type Fraction from "fraction.js";
import { ageUntil, strengthAfter } from "./decay.js";
import { doseOfRatio, strokesPerMinute } from "./feed.js";
import {
  type Dose,
  type Duration,
  type Flow,
  fromSi,
  type Mass,
  type Strength,
  type Temperature,
  type Volume,
} from "./quantity.js";
import { tankLife } from "./solution.js";
import { type Layout, LAYOUT_DEFAULT, type Spacing, spacingAt } from "./spacing.js";
import type { FeedDuty, Ratio } from "./types.js";

/** What is known of the tank and its store; without it there is no refill interval. */
export interface Stock {
  /** Usable solution in a full tank. */
  readonly tank: Volume;
  readonly storage: Temperature;
  /** The solution is renewed when this share of its fresh strength is left, above 0 and below 1. */
  readonly leastShare: number;
}

export interface TurndownTerms {
  /** Default {@link LAYOUT_DEFAULT}. */
  readonly layout?: Layout | undefined;
  /** Water treated in a day; default the typical flow, else the peak, all day. */
  readonly waterPerDay?: Volume | undefined;
  readonly stock?: Stock | undefined;
}

/** One flow of the duty, with the ratio at work. */
export interface FlowRow {
  readonly at: "low" | "typical" | "peak";
  readonly flow: Flow;
  /** Strokes per minute that the ratio asks for, and that are made within the cap. */
  readonly strokesAsked: Fraction;
  readonly strokesMade: Fraction;
  readonly capBites: boolean;
  readonly spacing: Spacing;
  readonly dose: Dose;
  /** Of the wanted dose; below 0 is underdosed. */
  readonly errorPercent: number;
  /** While the water flows so. */
  readonly solutionFeed: Flow;
}

/** How long the stock lasts and stays good. */
export interface StockLife {
  /** Until the tank is empty, at the day's water. */
  readonly untilEmpty: Duration;
  /** Until the solution has aged to the least share of its strength. */
  readonly untilAged: Duration;
  /** The shorter of the two. */
  readonly refill: Duration;
  readonly limitedBy: "tank" | "age";
  /** Strength and dose at the end of the refill interval. */
  readonly strengthAtRefill: Strength;
  readonly doseAtRefill: Dose;
}

export interface Turndown {
  /** In order of flow; only those that the duty has. */
  readonly rows: readonly FlowRow[];
  /** The highest flow that is dosed in full. */
  readonly capBitesAt: Flow;
  /** Disinfectant that is short per hour at peak; 0 where the cap does not bite. */
  readonly shortPerHourAtPeak: Mass;
  readonly waterPerDay: Volume;
  /** At the ratio; what the cap would leave unfed is not taken off. */
  readonly solutionPerDay: Volume;
  readonly stock: StockLife | undefined;
}

/** Throws a RangeError for a least share that is not between 0 and 1. */
export function turndown(duty: FeedDuty, ratio: Ratio, terms: TurndownTerms = {}): Turndown {
  const layout = terms.layout ?? LAYOUT_DEFAULT;
  const flows = [
    ["low", duty.low],
    ["typical", duty.typical],
    ["peak", duty.peak],
  ] as const;
  const rows = flows.flatMap(([at, flow]) =>
    flow === undefined ? [] : [rowOf(duty, ratio, { at, flow, layout })],
  );
  const waterPerDay = terms.waterPerDay ?? fromSi("volume", (duty.typical ?? duty.peak).si.mul(86_400));
  const solutionPerDay = solutionFor(duty, ratio, waterPerDay);
  const short = doseOfRatio(ratio, duty).si.sub(doseAt(duty, ratio, duty.peak).si);
  return {
    rows,
    capBitesAt: capBitesAt(duty, ratio),
    shortPerHourAtPeak: fromSi("mass", short.mul(duty.peak.si).mul(3_600)),
    waterPerDay,
    solutionPerDay,
    stock: terms.stock && stockLife(duty, ratio, terms.stock, solutionPerDay),
  };
}

/** The flow at which a ratio asks for just the strokes per minute that the cap allows. */
export function capBitesAt(duty: Pick<FeedDuty, "capPerMinute" | "contactVolume">, ratio: Ratio): Flow {
  const contactsPerMinute = duty.capPerMinute.mul(ratio.contacts).div(ratio.strokes);
  return fromSi("flow", contactsPerMinute.mul(duty.contactVolume.si).div(60));
}

/** The dose that a ratio gives at a steady flow: the ratio's up to where the cap bites, less beyond. */
export function doseAt(duty: FeedDuty, ratio: Ratio, flow: Flow): Dose {
  const full = doseOfRatio(ratio, duty);
  const bitesAt = capBitesAt(duty, ratio);
  return flow.si.lte(bitesAt.si) ? full : fromSi("dose", full.si.mul(bitesAt.si).div(flow.si));
}

interface RowTerms {
  readonly at: FlowRow["at"];
  readonly flow: Flow;
  readonly layout: Layout;
}

function rowOf(duty: FeedDuty, ratio: Ratio, { at, flow, layout }: RowTerms): FlowRow {
  const strokesAsked = strokesPerMinute(ratio, flow, duty.contactVolume);
  const capBites = strokesAsked.gt(duty.capPerMinute);
  const strokesMade = capBites ? duty.capPerMinute : strokesAsked;
  const dose = doseAt(duty, ratio, flow);
  return {
    at,
    flow,
    strokesAsked,
    strokesMade,
    capBites,
    spacing: spacingAt(ratio, flow, duty, layout),
    dose,
    errorPercent: dose.si.div(duty.dose.si).sub(1).mul(100).valueOf(),
    solutionFeed: fromSi("flow", duty.strokeVolume.si.mul(strokesMade).div(60)),
  };
}

/** Solution for a volume of water at the ratio. */
function solutionFor(duty: FeedDuty, { strokes, contacts }: Ratio, water: Volume): Volume {
  const contactsOf = water.si.div(duty.contactVolume.si);
  return fromSi("volume", contactsOf.mul(strokes).div(contacts).mul(duty.strokeVolume.si));
}

function stockLife(duty: FeedDuty, ratio: Ratio, stock: Stock, solutionPerDay: Volume): StockLife {
  const untilEmpty = tankLife(stock.tank, fromSi("flow", solutionPerDay.si.div(86_400)));
  const untilAged = ageUntil(duty.strength, stock.leastShare, stock.storage);
  const limitedBy = untilEmpty.si.lte(untilAged.si) ? "tank" : "age";
  const refill = limitedBy === "tank" ? untilEmpty : untilAged;
  const strengthAtRefill = strengthAfter(duty.strength, refill, stock.storage);
  const left = strengthAtRefill.si.div(duty.strength.si);
  return {
    untilEmpty,
    untilAged,
    refill,
    limitedBy,
    strengthAtRefill,
    doseAtRefill: fromSi("dose", doseOfRatio(ratio, duty).si.mul(left)),
  };
}
