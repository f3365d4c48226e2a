/**
 * Do feed, dose and demand come out as operator handbooks print them?
 */
import type Fraction from "fraction.js";
import { expect, test } from "vitest";
import { demandOf, doseFor } from "../../../lib/dosing/demand.js";
import { doseOf, massFeed, massFor, solutionFor, strokesPerContact } from "../../../lib/dosing/feed.js";
import { pumpOutput } from "../../../lib/dosing/pump.js";
import { exactIn, fromSi, quantity } from "../../../lib/dosing/quantity.js";
import { dryProduct } from "../../../lib/dosing/solution.js";
import { exact } from "../../../lib/dosing/units.js";
import { asPrinted, POUNDS_FACTOR, type Row, type Source } from "./printed.js";
import { strengthOf as strength } from "./strength.js";

const SWRCB: Source = {
  title: "Example Calculations of Chlorine Dosage",
  publisher: "California State Water Resources Control Board, Division of Drinking Water",
  year: 2018,
  locator: "equations 1A, 2A; dosage example 2",
  seen: "two public copies",
};
const WASTEWATER101: Source = {
  title: "Time for Math 3",
  publisher: "wastewater101.net, operator examination practice",
  year: 2018,
  locator: "answers 1 to 5",
};
const KANSAS: Source = {
  title: "Disinfecting with household bleach",
  publisher: "Kansas Department of Health and Environment",
  locator: "examples 1 and 2",
};
const HANDOUT: Source = {
  title: "Calculating the chlorine dosage using 5% to 15% sodium hypochlorite",
  publisher: "operator training handout",
  locator: "worked example, storage tank spray method",
};
const RURAL_WATER: Source = {
  title: "Math questions, Virginia Rural Water Quarterly, April 2013",
  publisher: "Virginia Rural Water Association",
  year: 2013,
  locator: "questions 3 to 5",
  seen: "question and offered options; the answer page was not seen, so the option is our arithmetic",
};

const dose = (mgPerLitre: string) => quantity("dose", mgPerLitre, "mg/L");
const lbPerDay = (mgd: string, mgPerLitre: string): Fraction =>
  exactIn(massFeed(quantity("flow", mgd, "MGD"), dose(mgPerLitre)), "lb/day");

// Cylinders: the sources take 0.785 for pi/4 and 7.48 gal for a cubic foot.
const CYLINDER = {
  why: "0.785 for pi/4, 7.48 gal/ft3 and 8.34 lb",
  factor: exact("0.785")
    .div(exact(Math.PI / 4))
    .mul(exact("7.48").div(exact(1728).div(231)))
    .mul(POUNDS_FACTOR.factor),
};
const cylinder = (diameterFt: string, lengthFt: string) =>
  quantity(
    "volume",
    exact(Math.PI / 4)
      .mul(exact(diameterFt).pow(2))
      .mul(lengthFt),
    "ft3",
  );

const ROWS: readonly Row[] = [
  {
    id: "swrcb-example-2",
    source: SWRCB,
    inputs: "40 mL/min of 0.25 % NaOCl by volume into 35 gal/min",
    printed: "0.72",
    ours: () => {
      const fed = quantity("flow", 40, "mL/min").si.mul(strength("0.25 % NaOCl").si);
      return exactIn(doseOf(fromSi("massFeed", fed), quantity("flow", 35, "gpm")), "mg/L");
    },
  },
  {
    id: "swrcb-constant-9525",
    source: SWRCB,
    inputs: "1 gal of 1 % NaOCl by volume per gal of water, mg/L as Cl2",
    printed: "9525",
    ours: () => exactIn(strength("1 % NaOCl"), "mg/L"),
  },
  {
    id: "swrcb-constant-2.52",
    source: SWRCB,
    inputs: "1 mL/min of 1 % NaOCl by volume per gal/min, mg/L as Cl2",
    printed: "2.52",
    ours: () => {
      const fed = quantity("flow", 1, "mL/min").si.mul(strength("1 % NaOCl").si);
      return exactIn(doseOf(fromSi("massFeed", fed), quantity("flow", 1, "gpm")), "mg/L");
    },
  },
  {
    id: "pounds-formula",
    source: {
      title: "OL-74 Small Water System Mathematics - Chemical Doses",
      publisher: "operator course",
      locator: "pounds formula",
    },
    inputs: "1 MGD, 1 mg/L",
    printed: "8.34",
    ours: () => lbPerDay("1", "1"),
    carries: POUNDS_FACTOR,
  },
  {
    id: "course-1.5-mgd-2.5-mg",
    source: {
      title: "Water Math Practice Problem - Chlorination",
      publisher: "Water and Wastewater Courses",
      locator: "step 2",
    },
    inputs: "1.5 MGD, 2.5 mg/L, lb/day",
    printed: "31.28",
    ours: () => lbPerDay("1.5", "2.5"),
    carries: POUNDS_FACTOR,
  },
  {
    id: "cards-240-lb-24-mgd",
    source: {
      title: "Water operator flashcards, chlorination, set 275767",
      publisher: "freezingblue.com",
      locator: "cards 13 and 14",
    },
    inputs: "240 lb/day into 24 MGD, mg/L",
    printed: "1.2",
    ours: () => exactIn(doseOf(quantity("massFeed", 240, "lb/day"), quantity("flow", 24, "MGD")), "mg/L"),
  },
  {
    id: "practice-20-lb-4-ppm",
    source: WASTEWATER101,
    inputs: "20 lb gives 4 mg/L in how many million gallons",
    printed: "0.60",
    ours: () =>
      quantity("mass", 20, "lb")
        .si.div(dose("4").si)
        .div(quantity("volume", 1_000_000, "gal").si),
  },
  {
    id: "practice-tank-40-by-30-ft",
    source: WASTEWATER101,
    inputs: "tank of 40 ft diameter, 30 ft high, 9 mg/L, lb",
    printed: "21.2",
    ours: () => exactIn(massFor(cylinder("40", "30"), dose("9")), "lb"),
    carries: CYLINDER,
  },
  {
    id: "practice-pipe-2-miles",
    source: WASTEWATER101,
    inputs: "2 miles of 18 in pipe, 6 mg/L, lb",
    printed: "6.98",
    ours: () => exactIn(massFor(cylinder("1.5", "10560"), dose("6")), "lb"),
    carries: CYLINDER,
  },
  {
    id: "practice-1.2-mgd-50-mg",
    source: WASTEWATER101,
    inputs: "1.2 MGD, 50 mg/L, lb/day",
    printed: "500.4",
    ours: () => lbPerDay("1.2", "50"),
    carries: POUNDS_FACTOR,
  },
  {
    id: "worksheet-1.5-mgd-1.2-mg",
    source: {
      title: "Basic chemical conversion factors, dry feeder worksheet",
      publisher: "operator course, Pennsylvania",
      locator: "example 3",
    },
    inputs: "1.5 MGD, 1.2 mg/L, lb/day",
    printed: "15",
    ours: () => lbPerDay("1.5", "1.2"),
  },
  {
    id: "nesc-1.5-mgd-4-mg",
    source: {
      title: "How to calculate chlorine dose, after Basic Water and Wastewater Formulas (Z. Satterfield)",
      publisher: "National Environmental Services Center",
      locator: "first example",
      seen: "public restatement",
    },
    inputs: "1.5 MGD, 4 mg/L, lb/day",
    printed: "50",
    ours: () => lbPerDay("1.5", "4"),
  },
  {
    id: "kansas-ounce-per-gallon",
    source: KANSAS,
    inputs: "1 fl oz of 5.25 % by volume per gal, the ounce itself not counted as water, mg/L as NaOCl",
    printed: "410",
    ours: () =>
      exactIn(massFor(quantity("volume", 1, "floz"), dose("52500")), "mg").div(
        exactIn(quantity("volume", 1, "gal"), "L"),
      ),
  },
  {
    id: "kansas-10000-gal",
    source: KANSAS,
    inputs: "10,000 gal to 410 mg/L with 5.25 % by volume, gal",
    printed: "78",
    ours: () =>
      exactIn(solutionFor(quantity("volume", 10_000, "gal"), dose("410"), strength("5.25 %")), "gal"),
  },
  {
    id: "handout-550-gal-chlorine",
    source: HANDOUT,
    inputs: "550 gal to 200 mg/L, lb of Cl2",
    printed: "0.92",
    ours: () => exactIn(massFor(quantity("volume", 550, "gal"), dose("200")), "lb"),
  },
  {
    id: "handout-550-gal-solution-mass",
    source: HANDOUT,
    inputs: "the same with 12.5 % by weight, lb of solution",
    printed: "7.36",
    ours: () => exactIn(dryProduct(quantity("volume", 550, "gal"), dose("200"), exact("0.125")), "lb"),
    carries: {
      why: "goes on with the rounded 0.92 lb",
      factor: exact("0.92").div(exactIn(massFor(quantity("volume", 550, "gal"), dose("200")), "lb")),
    },
  },
  {
    id: "handout-550-gal-solution",
    source: HANDOUT,
    inputs: "the same, gal of solution, taken to weigh as much as water (specific gravity 1)",
    printed: "0.88",
    ours: () =>
      exactIn(solutionFor(quantity("volume", 550, "gal"), dose("200"), strength("12.5 % w/w", "1")), "gal"),
  },
  {
    id: "army-batch-dose",
    source: {
      title: "Military Water Supply, Subcourse MD0160",
      publisher: "US Army Medical Department Center and School",
      locator: "batch chlorination, p. 79 of the public copy",
    },
    inputs: "demand 2 ppm, residual 5 ppm",
    printed: "7",
    ours: () => exactIn(doseFor(dose("2"), dose("5")), "ppm"),
  },
  {
    id: "virginia-demand",
    source: RURAL_WATER,
    inputs: "dose 2.4 mg/L, residual 1.9 mg/L",
    printed: "0.5",
    ours: () => exactIn(demandOf(dose("2.4"), dose("1.9")), "mg/L"),
  },
  {
    id: "virginia-calcium-hypochlorite",
    source: RURAL_WATER,
    inputs: "15 % of 2 MG to 20 mg/L with product of 65.9 % available, lb",
    printed: "76",
    ours: () => exactIn(dryProduct(quantity("volume", 300_000, "gal"), dose("20"), exact("0.659")), "lb"),
  },
  {
    id: "drawdown-mL-min-to-gal-h",
    source: {
      title: "Chemical dosing checks",
      publisher: "municipal water utility, operator training",
      locator: "drawdown, step 5",
    },
    inputs: "1 mL/min in gal/h",
    printed: "0.0158",
    ours: () => exactIn(quantity("flow", 1, "mL/min"), "gal/h"),
    cut: true,
  },
];

test.each(ROWS)("$id: $inputs prints as $printed ($source.publisher, $source.locator)", (row) => {
  expect(asPrinted(row)).toBe(row.printed);
});

test("with specific gravity 1.2 the handout's 0.88 gal falls to 0.73: its solution cannot weigh as much as water", () => {
  const used = solutionFor(quantity("volume", 550, "gal"), dose("200"), strength("12.5 % w/w", "1.2"));
  expect(exactIn(used, "gal").round(2).toString()).toBe("0.73");
});

test("Kansas counts NaOCl where California counts Cl2: the same ounce is 410 mg/L to one and 391 to the other", () => {
  const perGallon = exactIn(quantity("volume", 1, "floz"), "gal");
  const asHypochlorite = exactIn(strength("5.25 %"), "mg/L").mul(perGallon);
  const asChlorine = exactIn(strength("5.25 % NaOCl"), "mg/L").mul(perGallon);
  expect([asHypochlorite.round().toString(), asChlorine.round().toString()]).toEqual(["410", "391"]);
});

test("example 2 of the California board as contacts of 1 gal and strokes of 0.5 mL is exactly 16:7 (derived)", () => {
  // 40 mL/min is 80 strokes a minute, 35 gal/min is 35 contacts a minute; the dose is the exact 0.7189, not 0.72.
  const solution = strength("0.25 % NaOCl");
  const fed = pumpOutput(quantity("volume", "0.5", "mL"), exact(80));
  const exactDose = doseOf(fromSi("massFeed", fed.si.mul(solution.si)), quantity("flow", 35, "gpm"));
  const ratio = strokesPerContact({
    contactVolume: quantity("volume", 1, "gal"),
    dose: exactDose,
    strength: solution,
    strokeVolume: quantity("volume", "0.5", "mL"),
  });
  expect(ratio.toFraction()).toBe("16/7");
});
