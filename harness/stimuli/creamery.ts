/**
 * What does an ordinary day on a meter look like? An invented one: a farm creamery on its own well. Harness layer.
 *
 * Made by a seeded script and shipped as a file, so that the command has something to show. Water is drawn in turns;
 * the register's contact closes at every 5 L and opens 0.3 L later, with bounce at either end, so that slow water
 * makes long closures. Nothing here was measured.
 */
import { formatSeconds } from "../../lib/trace/index.js";
import { HOUR, type Micros, MINUTE, SECOND } from "../../lib/pacing/index.js";
import { randomFrom } from "./random.js";

/** Where the log is shipped, from the root of the package. */
export const DEMO_FILE = "harness/stimuli/creamery.csv";

/** What the demo runs it with, by the names of the options. */
export const DEMO_SETTINGS = {
  ratio: "4:1",
  cap: "60",
  grace: "90 s",
  "owed-limit": "60",
  guard: "2000/h",
} as const;

const SEED = 1;
const CONTACT_LITRES = 5;
const CLOSED_LITRES = 0.3;

interface Draw {
  readonly fromMicros: Micros;
  readonly untilMicros: Micros;
  readonly litresPerMinute: number;
}

interface Row {
  readonly atMicros: Micros;
  readonly event: "close" | "open" | "prime-on" | "prime-off";
}

/** The whole file. */
export function creameryLog(): string {
  const random = randomFrom(SEED);
  const rows = [...prime(), ...edges(draws(random), random)].sort((a, b) => a.atMicros - b.atMicros);
  return [
    "# Invented, not measured: one day of a farm creamery on its own well, from midnight on.",
    `# Raw edges of a meter contact, one closure per ${CONTACT_LITRES} L, with bounce. Made by creamery.ts, seed ${SEED}.`,
    "time_s,event",
    ...rows.map(({ atMicros, event }) => `${formatSeconds(atMicros)},${event}`),
    "",
  ].join("\n");
}

function prime(): Row[] {
  const onMicros = 5 * HOUR + 48 * MINUTE;
  return [
    { atMicros: onMicros, event: "prime-on" },
    { atMicros: onMicros + 25 * SECOND, event: "prime-off" },
  ];
}

function draws(random: () => number): Draw[] {
  const at = (hour: number, minute: number, minutes: number, litresPerMinute: number): Draw => {
    const fromMicros = hour * HOUR + minute * MINUTE;
    return { fromMicros, untilMicros: fromMicros + minutes * MINUTE, litresPerMinute };
  };
  const works = [
    at(2, 10, 14, 1.6), // The ice bank tops itself up.
    at(6, 0, 14, 34), // Milking parlour, wash-down.
    at(8, 5, 22, 28), // Pasteuriser, rinse and cool.
    at(12, 10, 18, 95), // The loft tank is filled: more than the pump can follow.
    at(16, 20, 26, 38), // Evening milking, wash-down.
    at(19, 0, 6, 12), // Showers.
    at(23, 20, 9, 4), // The ice bank again.
  ];
  const taps = Array.from({ length: 44 }, () => {
    const fromMicros = Math.floor((6.5 + 14 * random()) * HOUR);
    const untilMicros = fromMicros + Math.floor((8 + 70 * random()) * SECOND);
    return { fromMicros, untilMicros, litresPerMinute: 7 + 9 * random() };
  });
  return inTurn([...works, ...taps]);
}

/** Sorted, and where two would overlap the later one waits: the well gives one at a time. */
function inTurn(all: readonly Draw[]): Draw[] {
  let freeMicros = 0;
  return [...all]
    .sort((a, b) => a.fromMicros - b.fromMicros)
    .map((draw) => {
      const fromMicros = Math.max(draw.fromMicros, freeMicros + SECOND);
      const untilMicros = fromMicros + draw.untilMicros - draw.fromMicros;
      freeMicros = untilMicros;
      return { ...draw, fromMicros, untilMicros };
    });
}

function edges(all: readonly Draw[], random: () => number): Row[] {
  const rows: Row[] = [];
  let litresToEdge = 3.1;
  let event: "close" | "open" = "close";
  for (const { fromMicros, untilMicros, litresPerMinute } of all) {
    let atMicros = fromMicros;
    for (;;) {
      const unsteady = litresPerMinute * (0.93 + 0.14 * random());
      const stepMicros = Math.round((litresToEdge / unsteady) * MINUTE);
      if (atMicros + stepMicros > untilMicros) {
        litresToEdge -= ((untilMicros - atMicros) / MINUTE) * unsteady;
        break;
      }
      atMicros += stepMicros;
      rows.push(...withBounce(atMicros, event, random));
      litresToEdge = event === "close" ? CLOSED_LITRES : CONTACT_LITRES - CLOSED_LITRES;
      event = event === "close" ? "open" : "close";
    }
  }
  return rows;
}

/** The edge, and one time in four it rattles once or twice before it stays. */
function withBounce(atMicros: Micros, event: "close" | "open", random: () => number): Row[] {
  const rows: Row[] = [{ atMicros, event }];
  const rattles = random() < 0.25 ? 1 + Math.floor(2 * random()) : 0;
  let micros = atMicros;
  for (let i = 0; i < rattles; i++) {
    micros += 200 + Math.floor(1_500 * random());
    rows.push({ atMicros: micros, event: event === "close" ? "open" : "close" });
    micros += 200 + Math.floor(1_500 * random());
    rows.push({ atMicros: micros, event });
  }
  return rows;
}
