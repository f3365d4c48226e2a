/**
 * Do strengths and mixtures come out as handbooks print them, on whatever basis they count percent?
 */
import { expect, test } from "vitest";
import { exactIn, quantity } from "../../../lib/dosing/quantity.js";
import {
  CHLORINE_PER_HYPOCHLORITE,
  dilute,
  dryProduct,
  strengthOfMix,
} from "../../../lib/dosing/solution.js";
import { exact } from "../../../lib/dosing/units.js";
import { asPrinted, type Row, type Source } from "./printed.js";
import { strengthOf } from "./strength.js";

const WHITE: Source = {
  title: "Handbook of Chlorination",
  publisher: "G. C. White, Van Nostrand Reinhold",
  year: 1972,
  locator: "strength definitions",
  seen: "restated in an industrial profile of sodium hypochlorite",
};
const TRAINING: Source = {
  title: "Chlorine solution formulas",
  publisher: "public-health training handout on infection prevention",
  locator: "examples I to III",
};
const LESSONS: Source = {
  title: "Solutions",
  publisher: "theh2oprofessor.com, operator math lessons",
  locator: "Lbs/gal 1 to 3",
};
const CHOLERA: Source = {
  title: "Appendix 14: preparation and use of 1% chlorine solution",
  publisher: "Cholera Outbreak Toolkit",
  locator: "tables",
};

const litre = quantity("volume", 1, "L");
const percent = (strength: ReturnType<typeof strengthOf>) => exactIn(strength, "g/L").div(10);

const ROWS: readonly Row[] = [
  {
    id: "white-trade-percent",
    source: WHITE,
    inputs: "125 g/L available chlorine, trade percent",
    printed: "12.5",
    ours: () => percent(strengthOf("125 g/L")),
  },
  {
    id: "white-1.05",
    source: WHITE,
    inputs: "NaOCl per available Cl2, by mass",
    printed: "1.05",
    ours: () => CHLORINE_PER_HYPOCHLORITE.inverse(),
  },
  {
    id: "county-120-g-per-litre",
    source: {
      title: "Material specification, county water purchase agreement",
      publisher: "county procurement document",
      locator: "sodium hypochlorite clause",
    },
    inputs: "10.8 % NaOCl by weight at the implied specific gravity 1.167, g/L as Cl2",
    printed: "120",
    ours: () => exactIn(strengthOf("10.8 % w/w NaOCl", "1.167"), "g/L"),
  },
  {
    id: "label-6-percent",
    source: {
      title: "Sodium Hypochlorite",
      publisher: "public water-care forum, restating label practice",
      year: 2006,
      locator: "definitions of free chlorine",
    },
    inputs: "6 % NaOCl by weight, as available chlorine by weight",
    printed: "5.7",
    ours: () => CHLORINE_PER_HYPOCHLORITE.mul(6),
  },
  {
    id: "lessons-12-percent",
    source: LESSONS,
    inputs: "12 % at specific gravity 1.41, lb/gal",
    printed: "1.41",
    ours: () => exactIn(strengthOf("12 % w/w", "1.41"), "lb/gal"),
  },
  {
    id: "lessons-65-percent",
    source: LESSONS,
    inputs: "65 % at specific gravity 1.21, lb/gal (not a hypochlorite solution)",
    printed: "6.56",
    ours: () => exactIn(quantity("strength", exact(650).mul(exact("1.21")), "g/L"), "lb/gal"),
  },
  {
    id: "lessons-30-percent",
    source: LESSONS,
    inputs: "30 % at specific gravity 1.16, lb/gal (not a hypochlorite solution)",
    printed: "2.90",
    ours: () => exactIn(quantity("strength", exact(300).mul(exact("1.16")), "g/L"), "lb/gal"),
  },
  {
    id: "cholera-1-percent",
    source: CHOLERA,
    inputs: "1 % in mg/L",
    printed: "10000",
    ours: () => exactIn(strengthOf("1 %"), "mg/L"),
  },
  {
    id: "cholera-calcium-hypochlorite",
    source: CHOLERA,
    inputs: "15 g of 70 % product in a litre, percent",
    printed: "1",
    ours: () => exact(15).mul(exact("0.7")).div(10),
  },
  {
    id: "cholera-lime",
    source: CHOLERA,
    inputs: "33 g of 30 % chlorinated lime in a litre, percent",
    printed: "1",
    ours: () => exact(33).mul(exact("0.3")).div(10),
  },
  {
    id: "cholera-15-percent",
    source: CHOLERA,
    inputs: "70 mL of 15 % made up to a litre, percent",
    printed: "1",
    ours: () =>
      percent(
        strengthOfMix(strengthOf("15 %"), {
          stock: quantity("volume", 70, "mL"),
          water: quantity("volume", 930, "mL"),
        }),
      ),
  },
  {
    id: "training-3.5-to-0.5",
    source: TRAINING,
    inputs: "3.5 % to 0.5 %, parts of water",
    printed: "6",
    ours: () => dilute(strengthOf("3.5 %"), strengthOf("0.5 %"), litre)?.partsWater ?? exact(0),
  },
  {
    id: "training-powder",
    source: TRAINING,
    inputs: "0.5 % from 35 % powder, g per litre",
    printed: "14.3",
    ours: () => exactIn(dryProduct(litre, strengthOf("0.5 %"), exact("0.35")), "g"),
  },
  {
    id: "stanford-1-to-10",
    source: {
      title: "Bleach solutions, Biosafety Manual, quoting the CDC",
      publisher: "Stanford University EH&S",
      locator: "bleach page",
    },
    inputs: "5.25 % as one part in ten, percent",
    printed: "0.53",
    ours: () =>
      percent(strengthOfMix(strengthOf("5.25 %"), { stock: litre, water: quantity("volume", 9, "L") })),
  },
  {
    id: "swrcb-20-ounces",
    source: {
      title: "Example Calculations of Chlorine Dosage",
      publisher: "California State Water Resources Control Board, Division of Drinking Water",
      year: 2018,
      locator: "equation 1B",
      seen: "a text copy",
    },
    inputs: "20 fl oz of 12.5 % by weight (specific gravity 1.2) in 10 gal of water, percent NaOCl by volume",
    printed: "0.2307",
    ours: () =>
      percent(
        strengthOfMix(strengthOf("12.5 % w/w", "1.2"), {
          stock: quantity("volume", 20, "floz"),
          water: quantity("volume", 10, "gal"),
        }),
      ),
    cut: true,
  },
  {
    id: "vccs-mg-per-mL",
    source: {
      title: "Chemical Dosages",
      publisher: "Mountain Empire Community College, Virginia Community College System",
      year: 2012,
      locator: "liquid chemical feed rate",
      seen: "a public copy",
    },
    inputs: "230 mg in 100 mL, mg/mL",
    printed: "2.3",
    ours: () => exactIn(quantity("strength", exact(230).div(100), "mg/mL"), "mg/mL"),
  },
];

test.each(ROWS)("$id: $inputs prints as $printed ($source.publisher, $source.locator)", (row) => {
  expect(asPrinted(row)).toBe(row.printed);
});

test("California's own fitted curve for 10 gal and our dilution agree on 20 fl oz for 0.2307 %", () => {
  const fitted = 6.2715 * 0.2307 ** 2 + 85.108 * 0.2307;
  const mix = dilute(strengthOf("12.5 % w/w", "1.2"), strengthOf("0.2307 %"), quantity("volume", 1, "gal"));
  const ouncesPerTenGallons = exact(1280).div(mix?.partsWater ?? 1);
  expect([Math.round(fitted), ouncesPerTenGallons.round().valueOf()]).toEqual([20, 20]);
});

test("the toolkit's 5 % recipe, 250 mL per litre, is 1 % if added to a litre and 1.25 % if made up to one", () => {
  const stock = quantity("volume", 250, "mL");
  const added = strengthOfMix(strengthOf("5 %"), { stock, water: litre });
  const madeUp = strengthOfMix(strengthOf("5 %"), { stock, water: quantity("volume", 750, "mL") });
  expect([percent(added).toString(), percent(madeUp).toString()]).toEqual(["1", "1.25"]);
});
