/**
 * What does the lab's water do in a day? Named patterns, all invented, as parts of the highest flow. Harness layer.
 *
 * A pattern is a list of stretches of even flow that fill a day. Where people draw water it is a little uneven, from a
 * seeded generator, never above the highest flow: the same pattern is the same day every time.
 */
import { DAY, HOUR, type Micros, MINUTE } from "../../lib/pacing/index.js";
import { randomFrom } from "../stimuli/random.js";

/** A stretch of even flow. */
export interface Stretch {
  readonly fromMicros: Micros;
  readonly untilMicros: Micros;
  readonly litresPerMinute: number;
}

type Part = readonly [fromHour: number, part: number];

interface Pattern {
  readonly name: string;
  readonly title: string;
  /** From each hour on, this part of the highest flow. */
  readonly parts: readonly Part[];
  /** Length of the stretches that chance makes uneven, in minutes; 0 for even flow. */
  readonly unevenMinutes: number;
}

const NIGHT_AND_DAY: readonly Part[] = [
  [0, 0.012],
  [6, 0.55],
  [7, 1],
  [8, 0.4],
  [12, 0.6],
  [13, 0.3],
  [18, 0.8],
  [20, 0.35],
  [22, 0.012],
];

export const PATTERNS: readonly Pattern[] = [
  { name: "steady", title: "Steady flow", parts: [[0, 1]], unevenMinutes: 0 },
  {
    name: "morning",
    title: "Village with a morning peak",
    parts: [
      [0, 0.05],
      [5, 0.3],
      [6, 0.8],
      [6.5, 1],
      [8, 0.55],
      [10, 0.3],
      [12, 0.45],
      [13.5, 0.28],
      [17, 0.6],
      [20, 0.3],
      [22, 0.1],
    ],
    unevenMinutes: 10,
  },
  {
    name: "school",
    title: "School day with breaks",
    parts: [
      [0, 0],
      [6.5, 0.2],
      [7.5, 0.5],
      [8, 0.1],
      [9.75, 1],
      [10.1, 0.1],
      [12, 0.75],
      [13, 0.12],
      [14.5, 0.9],
      [14.75, 0.08],
      [16, 0.35],
      [17.5, 0],
    ],
    unevenMinutes: 5,
  },
  { name: "trickle", title: "House with a night trickle", parts: NIGHT_AND_DAY, unevenMinutes: 10 },
  {
    name: "tank",
    title: "Tank fill, pump on and off",
    parts: Array.from({ length: 8 }, (_, i): Part[] => [
      [0.5 + 3 * i, 1],
      [1.1 + 3 * i, 0],
    ]).flat(),
    unevenMinutes: 0,
  },
  {
    name: "milking",
    title: "Farm with two milkings",
    parts: [
      [0, 0],
      [4.5, 0.4],
      [5.5, 1],
      [6.25, 0.15],
      [11, 0.3],
      [12, 0.08],
      [16, 0.45],
      [17, 1],
      [17.75, 0.1],
      [20, 0],
    ],
    unevenMinutes: 15,
  },
];

const SEED = 7;
/** The least part of a stretch's flow that chance leaves. */
const UNEVEN_LEAST = 0.8;

/** The day of a pattern, in stretches that follow each other from 0 to DAY; undefined for a name there is not. */
export function stretchesOf(name: string, peakLitresPerMinute: number): Stretch[] | undefined {
  const pattern = PATTERNS.find((one) => one.name === name);
  if (pattern === undefined) return undefined;
  const random = randomFrom(SEED);
  const { unevenMinutes } = pattern;
  const starts = pattern.parts[0]?.[0] === 0 ? pattern.parts : [[0, 0] as Part, ...pattern.parts];
  return starts.flatMap(([hour, part], i) => {
    const fromMicros = Math.round(hour * HOUR);
    const untilMicros = Math.round((starts[i + 1]?.[0] ?? DAY / HOUR) * HOUR);
    const litresPerMinute = part * peakLitresPerMinute;
    if (unevenMinutes === 0 || part === 0) return [{ fromMicros, untilMicros, litresPerMinute }];
    return cut(fromMicros, untilMicros, unevenMinutes * MINUTE).map((piece, k) => ({
      ...piece,
      // The first stretch of the highest flow has all of it, so that the peak is what it is said to be.
      litresPerMinute:
        litresPerMinute * (part === 1 && k === 0 ? 1 : UNEVEN_LEAST + (1 - UNEVEN_LEAST) * random()),
    }));
  });
}

function cut(
  fromMicros: Micros,
  untilMicros: Micros,
  lengthMicros: Micros,
): Omit<Stretch, "litresPerMinute">[] {
  const count = Math.ceil((untilMicros - fromMicros) / lengthMicros);
  return Array.from({ length: count }, (_, k) => ({
    fromMicros: fromMicros + k * lengthMicros,
    untilMicros: Math.min(fromMicros + (k + 1) * lengthMicros, untilMicros),
  }));
}

/** The water of a day, litres. */
export function litresOf(stretches: readonly Stretch[]): number {
  return stretches.reduce(
    (sum, { fromMicros, untilMicros, litresPerMinute }) =>
      sum + ((untilMicros - fromMicros) / MINUTE) * litresPerMinute,
    0,
  );
}

/** When the meter closes its contact: each time one more contact volume has passed. Whole microseconds, rising. */
export function contactsOf(stretches: readonly Stretch[], litresPerContact: number): Micros[] {
  const contacts: Micros[] = [];
  let litresToGo = litresPerContact;
  for (const { fromMicros, untilMicros, litresPerMinute } of stretches) {
    if (litresPerMinute === 0) continue;
    const microsPerLitre = MINUTE / litresPerMinute;
    let atMicros = fromMicros;
    while (atMicros + litresToGo * microsPerLitre <= untilMicros) {
      atMicros += litresToGo * microsPerLitre;
      contacts.push(Math.round(atMicros));
      litresToGo = litresPerContact;
    }
    litresToGo -= (untilMicros - atMicros) / microsPerLitre;
  }
  return contacts;
}

/** The flow at a moment, litres a minute. */
export function flowAt(stretches: readonly Stretch[], atMicros: Micros): number {
  return stretches.find(({ untilMicros }) => atMicros < untilMicros)?.litresPerMinute ?? 0;
}
