/**
 * How is a quantity told to people, in metric and US units at once? Dosing layer.
 */
import { type Kind, KINDS, numberIn, type Quantity, show, showNumber } from "./quantity.js";

type Unit = readonly [unit: string, least: number];

// Units from small to large; the largest that counts at least `least` is used. Gallons are US gallons.
const METRIC: { readonly [K in Kind]: readonly Unit[] } = {
  volume: [
    ["mL", 0],
    ["L", 1],
    ["m3", 10],
  ],
  flow: [
    ["mL/min", 0],
    ["L/min", 1],
    ["m3/h", 60],
  ],
  dose: [["mg/L", 0]],
  strength: [["g/L", 0]],
  mass: [
    ["mg", 0],
    ["g", 1],
    ["kg", 1],
  ],
  massFeed: [
    ["g/day", 0],
    ["kg/day", 1],
  ],
  duration: [
    ["s", 0],
    ["min", 2],
    ["h", 2],
    ["days", 2],
  ],
  temperature: [["degC", -Infinity]],
  exposure: [["mg min/L", 0]],
};
const US: { readonly [K in Kind]?: readonly Unit[] } = {
  volume: [
    ["floz", 0],
    ["gal", 0.25],
  ],
  flow: [
    ["gal/day", 0],
    ["gal/min", 1],
  ],
  strength: [["lb/gal", 0]],
  mass: [["lb", 0]],
  massFeed: [["lb/day", 0]],
  temperature: [["degF", -Infinity]],
};
const WORDS: { readonly [unit: string]: string } = {
  floz: "fl oz",
  m3: "m³",
  "m3/h": "m³/h",
  degC: "°C",
  degF: "°F",
  "mg min/L": "mg·min/L",
};

/** Metric, and US customary in brackets where it differs: "37.85 L (10 gal)". At most `digits` significant digits. */
export function shown(q: Quantity<Kind>, digits = 4): string {
  const us = US[q.kind];
  const metric = inUnit(q, METRIC[q.kind], digits);
  return us === undefined ? metric : `${metric} (${inUnit(q, us, digits)})`;
}

/** Metric alone. */
export function metricOf(q: Quantity<Kind>, digits = 4): string {
  return inUnit(q, METRIC[q.kind], digits);
}

/** A log inactivation: "0.6-log", or "4-log or more" where the table reads no further than `most`. */
export function logShown(log: number, most: number): string {
  return log >= most ? `${most}-log or more` : `${showNumber(log, 3)}-log`;
}

function inUnit(q: Quantity<Kind>, units: readonly Unit[], digits: number): string {
  const [unit] = units.findLast(([unit, least]) => numberIn(q, unit) >= least) ??
    units[0] ?? [KINDS[q.kind].si];
  const text = show(q, unit, digits);
  return text.slice(0, text.length - unit.length) + (WORDS[unit] ?? unit);
}
