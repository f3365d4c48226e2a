/**
 * What should have been earned by now, and in which mode is the controller? Reckoned from the stimulus alone.
 *
 * Laws layer. Written apart from the pacing core on purpose: earnings by the closed formula instead of a carried
 * remainder, qualification by runs of closures. From the response it takes only what was reported: strokes, sheddings
 * and trips.
 */
import type { Micros, Settings } from "../pacing/index.js";
import type { ResponseEvent, StimulusEvent, TraceEvent } from "../trace/index.js";
import { isStimulus } from "../trace/index.js";
import { EXACT, type Standing } from "./standing.js";
import { newTurns, noteTurns, type Turns } from "./turns.js";

/** Why nothing that depends on which contacts earned can be told once a reckoning {@link Reckoning.isLost}. */
export const LOST =
  "a trip, a reset and the prime override came too close to tell which contacts were ignored";

export interface Reckoning {
  readonly standing: Standing;
  readonly turns: Turns;
  settings: Settings;
  /** The contacts that earned since the ratio last changed; what was earned before; and the remainder it began with. */
  epochContacts: number;
  epochEarned: number;
  epochRemainder: number;
  counted: number;
  ignored: number;
  rejected: number;
  /** Time of the last contact that was not rejected, −∞ before the first. */
  contactMicros: Micros;
  /** The last stroke of either cause or, if later, the last restart; −∞ before the first. */
  strokeMicros: Micros;
  paced: number;
  primed: number;
  shed: number;
  /** Strokes that contacts were told to have earned; undefined until one is told of. */
  toldEarned: number | undefined;
  held: boolean;
  inhibits: string[];
  tripped: boolean;
  dark: boolean;
  pressed: boolean;
  /** Since when the prime override is obeyed, −∞ while it is not. */
  primeSinceMicros: Micros;
  /** A guard was set at some time, so that it may have tripped. */
  hadGuard: boolean;
  /** A trip that could not be placed, or seen, leaves it open which contacts were ignored. */
  isLost: boolean;
  lineClosed: boolean;
  lineSinceMicros: Micros;
  /** The present run of closures has given its contact. */
  runCounted: boolean;
  edges: number;
  /** By how much the bounce nearest to counting fell short, in µs. */
  bounceMargin: number;
}

export function newReckoning(
  settings: Settings,
  startRemainder: number,
  standing: Standing = EXACT,
): Reckoning {
  return {
    standing,
    turns: newTurns(),
    settings,
    epochContacts: 0,
    epochEarned: 0,
    epochRemainder: startRemainder,
    counted: 0,
    ignored: 0,
    rejected: 0,
    contactMicros: -Infinity,
    strokeMicros: -Infinity,
    paced: 0,
    primed: 0,
    shed: 0,
    toldEarned: undefined,
    held: false,
    inhibits: [],
    tripped: false,
    dark: false,
    pressed: false,
    primeSinceMicros: -Infinity,
    hadGuard: settings.guardBudgetStrokes > 0,
    isLost: false,
    lineClosed: false,
    lineSinceMicros: -Infinity,
    runCounted: false,
    edges: 0,
    bounceMargin: Infinity,
  };
}

/** ⌊(contacts · m + start) / d⌋ over the contacts since the ratio last changed, and all that was earned before. */
export function earnedBy(r: Reckoning): number {
  return r.epochEarned + Math.floor(paidBy(r) / r.settings.contacts);
}

export function remainderOf(r: Reckoning): number {
  return paidBy(r) % r.settings.contacts;
}

export function owedBy(r: Reckoning): number {
  return earnedBy(r) - r.paced - r.shed;
}

export function isStopped(r: Reckoning): boolean {
  return r.held || r.inhibits.length > 0 || r.tripped || r.dark;
}

/** Whether what is stamped `atMicros` may still be from before the last change of settings or of the power. */
export function isUnsettled(r: Reckoning, atMicros: Micros): boolean {
  const { toleranceMicros } = r.standing;
  return toleranceMicros > 0 && atMicros <= r.turns.changedMicros + toleranceMicros;
}

function paidBy(r: Reckoning): number {
  return r.epochContacts * r.settings.strokes + r.epochRemainder;
}

/** Lets time go on to `atMicros`: a closure that has stayed closed long enough by then has become a contact. */
export function settle(r: Reckoning, atMicros: Micros): void {
  const qualifies = r.lineSinceMicros + r.settings.closedMicros;
  if (!r.lineClosed || r.runCounted || r.dark || qualifies > atMicros) return;
  r.runCounted = true;
  contact(r, qualifies);
}

/** Takes one event into account, after {@link settle}. */
export function apply(r: Reckoning, event: TraceEvent): void {
  const primedUntilMicros = r.primeSinceMicros + r.settings.longestPrimeMicros;
  if (!isStimulus(event)) takeResponse(r, event);
  else if (!r.dark || event.kind === "power-on") stimulate(r, event);
  if (r.standing.toleranceMicros === 0) return;
  const now = { isStopped: isStopped(r), isPriming: r.primeSinceMicros !== -Infinity };
  noteTurns(r.turns, event, now, primedUntilMicros);
}

function takeResponse(r: Reckoning, event: ResponseEvent): void {
  if (event.kind === "paced") {
    r.paced += 1;
    r.strokeMicros = event.atMicros;
  } else if (event.kind === "primed") {
    r.primed += 1;
    r.strokeMicros = event.atMicros;
  } else if (event.kind === "shed") r.shed += event.strokes;
  else if (event.kind === "counted") r.toldEarned = (r.toldEarned ?? 0) + event.earned;
  else if (event.kind === "alarm-on" && event.alarm === "tripped") trip(r, event.atMicros);
}

function trip(r: Reckoning, atMicros: Micros): void {
  const { toleranceMicros } = r.standing;
  const isPriming = r.primeSinceMicros !== -Infinity || atMicros <= r.turns.primeEndMicros + toleranceMicros;
  const mayIgnore = r.settings.contactsDuringPrime === "ignore" || isUnsettled(r, atMicros);
  // Told so late, it may have been reset already; and what came under prime may have come after the trip.
  const mayBeReset = toleranceMicros > 0 && atMicros <= r.turns.resetMicros + toleranceMicros;
  r.isLost ||= toleranceMicros > 0 && mayIgnore && (isPriming || mayBeReset);
  if (mayBeReset) return;
  r.tripped = true;
  r.primeSinceMicros = -Infinity;
}

function stimulate(r: Reckoning, event: StimulusEvent): void {
  const { atMicros } = event;
  switch (event.kind) {
    case "wake":
      return;
    case "contact":
      contact(r, atMicros);
      return;
    case "close":
      close(r, atMicros);
      return;
    case "open":
      open(r, atMicros);
      return;
    case "prime-on":
      if (!r.pressed && !isStopped(r)) r.primeSinceMicros = atMicros;
      r.pressed = true;
      return;
    case "prime-off":
      r.pressed = false;
      r.primeSinceMicros = -Infinity;
      return;
    case "hold-on":
      r.held = true;
      r.primeSinceMicros = -Infinity;
      return;
    case "hold-off":
      r.held = false;
      return;
    case "inhibit-on":
      if (!r.inhibits.includes(event.cause)) r.inhibits.push(event.cause);
      r.primeSinceMicros = -Infinity;
      return;
    case "inhibit-off":
      r.inhibits = r.inhibits.filter((cause) => cause !== event.cause);
      return;
    case "reset":
      r.tripped = false;
      return;
    case "settings":
      changeSettings(r, atMicros, event.settings, event.confirmed);
      return;
    case "power-off":
      r.dark = true;
      r.pressed = false;
      r.primeSinceMicros = -Infinity;
      return;
    case "power-on":
      if (r.dark) switchOn(r, atMicros, event.darkKnown);
      return;
  }
}

function contact(r: Reckoning, atMicros: Micros): void {
  if (atMicros - r.contactMicros < r.settings.leastContactMicros) {
    r.rejected += 1;
    return;
  }
  r.contactMicros = atMicros;
  const priming = atMicros < r.primeSinceMicros + r.settings.longestPrimeMicros;
  const ignoresPriming = priming && r.settings.contactsDuringPrime === "ignore";
  if (r.held || ignoresPriming) {
    r.ignored += 1;
    // After a trip that is not told of, prime is not obeyed.
    r.isLost ||= !r.held && r.hadGuard && !r.standing.tells("alarm-on");
  } else {
    r.counted += 1;
    r.epochContacts += 1;
  }
}

// A run is a series of closures with no opening of `openMicros` between them; it holds at most one contact.
function close(r: Reckoning, atMicros: Micros): void {
  r.edges += 1;
  if (r.lineClosed) return;
  const openFor = atMicros - r.lineSinceMicros;
  if (openFor >= r.settings.openMicros) r.runCounted = false;
  else r.bounceMargin = Math.min(r.bounceMargin, r.settings.openMicros - openFor);
  r.lineClosed = true;
  r.lineSinceMicros = atMicros;
}

function open(r: Reckoning, atMicros: Micros): void {
  r.edges += 1;
  if (!r.lineClosed) return;
  const closedFor = atMicros - r.lineSinceMicros;
  if (!r.runCounted) r.bounceMargin = Math.min(r.bounceMargin, r.settings.closedMicros - closedFor);
  r.lineClosed = false;
  r.lineSinceMicros = atMicros;
}

function changeSettings(r: Reckoning, atMicros: Micros, next: Settings, confirmed: boolean): void {
  const now = r.settings;
  // A press that has run out does not revive under a longer longest hold.
  if (atMicros >= r.primeSinceMicros + now.longestPrimeMicros) {
    r.primeSinceMicros = -Infinity;
  }
  const times = (next.strokes * now.contacts) / (now.strokes * next.contacts);
  if (!confirmed && times > now.largestIncrease) return;
  const carried = Math.floor((remainderOf(r) * next.contacts) / now.contacts);
  r.epochEarned = earnedBy(r);
  r.epochContacts = 0;
  r.epochRemainder = carried;
  r.settings = next;
  r.hadGuard ||= next.guardBudgetStrokes > 0;
}

function switchOn(r: Reckoning, atMicros: Micros, darkKnown: boolean): void {
  r.dark = false;
  r.lineSinceMicros = atMicros;
  r.strokeMicros = atMicros;
  if (!darkKnown) r.contactMicros = -Infinity;
}
