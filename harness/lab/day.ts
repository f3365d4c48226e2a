/**
 * What does the pacer make of a day? The library's own step, woken when it asks, in virtual time. Harness layer.
 *
 * A day is a pure function of the settings, the contacts and the presses of prime. What is kept is what the lab draws:
 * the moments of contacts and strokes, what was owed after each step, what was shed, and the accounts at the end.
 */
import {
  DAY,
  type Input,
  instantOrder,
  type Micros,
  newState,
  type Settings,
  shedBy,
  SHED_CAUSES,
  type ShedCause,
  type State,
  stepInPlace,
  wakeUntil,
} from "../../lib/pacing/index.js";
import type { Press } from "./state.js";

/** A value that holds from a moment until the next; times rise, or are equal where it jumps twice. */
export interface Track {
  readonly micros: Float64Array;
  readonly value: Float64Array;
}

export interface Shed {
  readonly atMicros: Micros;
  readonly strokes: number;
  readonly cause: ShedCause;
}

export interface Day {
  readonly contactMicros: Float64Array;
  readonly strokeMicros: Float64Array;
  /** 1 where the stroke of that place was primed. */
  readonly strokePrimed: Uint8Array;
  readonly owed: Track;
  readonly shed: readonly Shed[];
  readonly mostOwed: number;
  readonly mostOwedMicros: Micros;
  /** The accounts at the end. */
  readonly end: Readonly<State>;
}

/** Runs one day, 0 to DAY. Contacts and presses are in order of time. */
export function runDay(settings: Settings, contacts: readonly Micros[], presses: readonly Press[] = []): Day {
  const record = newRecord();
  const state = newState(settings);
  const see = (s: State, made: string): void => {
    record.see(s, made);
  };
  for (const input of inputsOf(contacts, presses)) {
    wakeUntil(state, input.atMicros, see);
    see(state, stepInPlace(state, input));
  }
  wakeUntil(state, DAY, see);
  return { contactMicros: Float64Array.from(contacts), ...record.told(), end: state };
}

function inputsOf(contacts: readonly Micros[], presses: readonly Press[]): Input[] {
  const inputs: Input[] = contacts.map((atMicros) => ({ kind: "contact", atMicros }));
  if (presses.length === 0) return inputs;
  for (const { onMicros, offMicros } of presses) {
    inputs.push({ kind: "prime-on", atMicros: onMicros }, { kind: "prime-off", atMicros: offMicros });
  }
  return inputs.sort((a, b) => a.atMicros - b.atMicros || instantOrder(a.kind) - instantOrder(b.kind));
}

/** Watches the accounts step by step. */
function newRecord(): {
  see(s: Readonly<State>, made: string): void;
  told(): Omit<Day, "contactMicros" | "end">;
} {
  const [strokes, primed, owedMicros, owedValue]: [number[], number[], number[], number[]] = [
    [],
    [],
    [0],
    [0],
  ];
  const shed: Shed[] = [];
  const shedSoFar = SHED_CAUSES.map(() => 0);
  let [gone, owed, mostOwed, mostOwedMicros] = [0, 0, 0, 0];
  const noteShed = (s: Readonly<State>): void => {
    gone = s.earned - s.paced - s.owed;
    SHED_CAUSES.forEach((cause, i) => {
      const strokes = shedBy(s, cause) - (shedSoFar[i] as number);
      if (strokes > 0) shed.push({ atMicros: s.nowMicros, strokes, cause });
      shedSoFar[i] = shedBy(s, cause);
    });
  };
  return {
    see(s, made) {
      if (made !== "none") {
        strokes.push(s.nowMicros);
        primed.push(made === "primed" ? 1 : 0);
      }
      if (s.earned - s.paced - s.owed > gone) noteShed(s);
      if (s.owed === owed) return;
      owed = s.owed;
      owedMicros.push(s.nowMicros);
      owedValue.push(owed);
      if (owed > mostOwed) [mostOwed, mostOwedMicros] = [owed, s.nowMicros];
    },
    told: () => ({
      strokeMicros: Float64Array.from(strokes),
      strokePrimed: Uint8Array.from(primed),
      owed: { micros: Float64Array.from(owedMicros), value: Float64Array.from(owedValue) },
      shed,
      mostOwed,
      mostOwedMicros,
    }),
  };
}

/**
 * The dose error along the day, in strokes: strokes made so far, of either cause, less those that the water so far asks
 * for. Below 0 the water is short. Contacts tell of the water; at one moment a contact comes before a stroke.
 */
export function doseErrorOf({ contactMicros, strokeMicros }: Day, strokesPerContact: number): Track {
  const length = contactMicros.length + strokeMicros.length + 1;
  const micros = new Float64Array(length);
  const value = new Float64Array(length);
  let [c, s] = [0, 0];
  for (let i = 1; i < length; i++) {
    const contact = contactMicros[c] ?? Infinity;
    const stroke = strokeMicros[s] ?? Infinity;
    if (contact <= stroke) c += 1;
    else s += 1;
    micros[i] = Math.min(contact, stroke);
    // From the counts, not added up: no rounding gathers.
    value[i] = s - c * strokesPerContact;
  }
  return { micros, value };
}

/** The value of a track at a moment: the last that was set up to and including it. */
export function valueAt({ micros, value }: Track, atMicros: Micros): number {
  return value[countUpTo(micros, atMicros) - 1] ?? 0;
}

/** The value of a curve that runs straight from one of its times to the next. */
export function straightAt(curve: Track, atMicros: Micros): number {
  const { micros, value } = curve;
  const next = countUpTo(micros, atMicros);
  const before = valueAt(curve, atMicros);
  const [from, to] = [micros[next - 1] ?? 0, micros[next]];
  if (to === undefined) return before;
  return before + (((value[next] as number) - before) * (atMicros - from)) / (to - from);
}

/** How many of the rising times are not after `atMicros`. */
export function countUpTo(times: Float64Array, atMicros: Micros): number {
  let [from, to] = [0, times.length];
  while (from < to) {
    const middle = (from + to) >>> 1;
    if ((times[middle] as number) <= atMicros) from = middle + 1;
    else to = middle;
  }
  return from;
}
