/**
 * What can a student set in the lab? One list: its names stand in the address, its words on the page. Harness layer.
 *
 * Names and units are those of the command's options, so that a setting can be taken from one to the other. A value is
 * always the text that was written; what it means is found out in read.ts.
 */
import { PATTERNS } from "./patterns.js";

export interface Field {
  readonly name: FieldName;
  readonly group: Group;
  readonly label: string;
  /** One line of help. */
  readonly about: string;
  /** What the page starts with. */
  readonly start: string;
  /** Words to choose from, each with how it is shown; a field without them is written. */
  readonly choices?: readonly { readonly word: string; readonly shown: string }[];
  /** A slider beside the text: from and to in `unit`, evenly by their logarithm. */
  readonly slider?: { readonly unit: string; readonly from: number; readonly to: number };
}

export const GROUPS = ["Water", "Solution", "Pump", "Pacing"] as const;
export type Group = (typeof GROUPS)[number];

export const FIELD_NAMES = [
  "pattern",
  "peak",
  "contact-volume",
  "mixing-volume",
  "dose",
  "strength",
  "stroke-volume",
  "cap",
  "ratio",
  "cadence",
  "grace",
  "longest-prime",
] as const;
export type FieldName = (typeof FIELD_NAMES)[number];

/** In the order of {@link FIELD_NAMES}. */
export const FIELDS: readonly Field[] = [
  {
    name: "pattern",
    group: "Water",
    label: "Flow pattern",
    about: "All patterns are invented.",
    start: "school",
    choices: PATTERNS.map(({ name, title }) => ({ word: name, shown: title })),
  },
  {
    name: "peak",
    group: "Water",
    label: "Most flow",
    about: "The pattern's highest flow.",
    start: "60 L/min",
    slider: { unit: "L/min", from: 2, to: 400 },
  },
  {
    name: "contact-volume",
    group: "Water",
    label: "Water per contact",
    about: "The meter closes its contact once for so much water.",
    start: "10 L",
    slider: { unit: "L", from: 1, to: 500 },
  },
  {
    name: "mixing-volume",
    group: "Water",
    label: "Mixing volume",
    about: "Water that mixes after the injection, ideally.",
    start: "60 L",
    slider: { unit: "L", from: 2, to: 2_000 },
  },
  {
    name: "dose",
    group: "Solution",
    label: "Dose wanted",
    about: "Chlorine (as Cl2) in the treated water.",
    start: "1.2 mg/L",
    slider: { unit: "mg/L", from: 0.2, to: 5 },
  },
  {
    name: "strength",
    group: "Solution",
    label: "Strength",
    about: "Percent weight by volume, or g/L, as Cl2.",
    start: "50 g/L",
    slider: { unit: "g/L", from: 1, to: 125 },
  },
  {
    name: "stroke-volume",
    group: "Pump",
    label: "Solution per stroke",
    about: "At full stroke, or measured by a drawdown.",
    start: "0.16 mL",
    slider: { unit: "mL", from: 0.02, to: 5 },
  },
  {
    name: "cap",
    group: "Pump",
    label: "Rate cap",
    about: "Most strokes a minute.",
    start: "60",
    slider: { unit: "", from: 1, to: 300 },
  },
  {
    name: "ratio",
    group: "Pacing",
    label: "Ratio",
    about: "Strokes for contacts: 3:2 is three strokes for every two contacts.",
    start: "3:2",
  },
  {
    name: "cadence",
    group: "Pacing",
    label: "Cadence",
    about: "Strokes spread evenly, or as soon as the cap allows.",
    start: "spread",
    choices: [
      { word: "spread", shown: "spread" },
      { word: "prompt", shown: "prompt" },
    ],
  },
  {
    name: "grace",
    group: "Pacing",
    label: "Still-water grace",
    about: "So long after the last contact, what is owed is shed.",
    start: "90 s",
    slider: { unit: "s", from: 2, to: 3_600 },
  },
  {
    name: "longest-prime",
    group: "Pacing",
    label: "Longest prime",
    about: "One press is obeyed no longer than this.",
    start: "20 s",
    slider: { unit: "s", from: 2, to: 120 },
  },
];

/** What was written in each field. */
export type Texts = { readonly [name in FieldName]: string };

export const START_TEXTS = Object.fromEntries(FIELDS.map(({ name, start }) => [name, start])) as Texts;

export function fieldNamed(name: FieldName): Field {
  const field = FIELDS.find((one) => one.name === name);
  if (field === undefined) throw new Error(`no field ${name}`);
  return field;
}
