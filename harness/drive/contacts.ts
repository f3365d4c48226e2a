/**
 * Which contacts are new, by the meter's register? Harness layer.
 *
 * A meter counts by itself, so what came while nobody listened is known by its register, modulo 2^32. The register that
 * is kept goes on contact by contact, with the step that took each.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { countedOn, countedSince } from "../field/register.js";
import { many, span } from "../report/words.js";
import type { LiveInput } from "./pacer.js";
import type { StartTrouble } from "./restart.js";

/** Most contacts that a register may have gone on by at once; more are told of, and not counted. */
export const JUMP_MOST = 100_000;
/** How long after a time without hearing readings may still be as old as that: what was held up on the way comes late. */
const CATCH_UP_MICROS: Micros = 1_000_000;

/** What is done with contacts: of the feed. */
export interface ContactSink {
  /** What is given within `act` is kept in one transaction, unless a stroke is among it. */
  batch(act: (give: (input: LiveInput) => void) => void): void;
  /** The register has changed, and nothing else has. */
  keepRegister(): void;
  tell(trouble: StartTrouble): void;
  /** The still-water grace in force. */
  graceMicros(): Micros;
  nowMicros(): Micros;
}

export interface Contacts {
  /** Up to which contacts are taken; undefined while none is known. */
  readonly register: number | undefined;
  /** The meter told its register. */
  hear(reading: number): void;
  /** The next reading tells what came while nobody listened; how long that was, undefined where nobody knows. */
  missSome(unheardMicros: Micros | undefined): void;
  /** Nothing was heard for so long, and what came meanwhile may now come in many readings. */
  fallBehind(unheardMicros: Micros): void;
  /** At a beat: what came late is told once it has all come. */
  beat(): void;
}

interface Gap {
  readonly unheardMicros: Micros | undefined;
  /** Undefined where the next reading ends it. */
  readonly untilMicros: Micros | undefined;
  came: number;
}

export function countContacts(kept: number | undefined, sink: ContactSink): Contacts {
  let register = kept;
  let gap: Gap | undefined;

  const take = (count: number, isOld: boolean): void => {
    sink.batch((give) => {
      // Water that has long passed is not dosed: its contacts earn, and what they earn is shed.
      if (isOld) give({ kind: "inhibit-on", cause: "other" });
      for (let i = 0; i < count; i++) {
        register = countedOn(register ?? 0, 1);
        give({ kind: "contact" });
      }
      if (isOld) give({ kind: "inhibit-off", cause: "other" });
    });
  };

  const isStale = ({ unheardMicros }: Gap): boolean =>
    unheardMicros === undefined || unheardMicros >= sink.graceMicros();

  const settle = (missed: Gap): void => {
    gap = undefined;
    if (missed.came > 0) sink.tell(missedWords(missed.came, missed.unheardMicros, isStale(missed)));
  };

  const beat = (): void => {
    if (gap?.untilMicros !== undefined && sink.nowMicros() >= gap.untilMicros) settle(gap);
  };

  return {
    get register() {
      return register;
    },
    missSome(unheardMicros) {
      gap = { unheardMicros, untilMicros: undefined, came: 0 };
    },
    fallBehind(unheardMicros) {
      gap = { unheardMicros, untilMicros: sink.nowMicros() + CATCH_UP_MICROS, came: gap?.came ?? 0 };
    },
    beat,
    hear(reading) {
      beat();
      const missed = gap;
      const before = register;
      const came = before === undefined ? undefined : countedSince(before, reading);
      if (before === undefined || came === undefined || came > JUMP_MOST) {
        gap = undefined;
        register = reading;
        sink.keepRegister();
        if (before !== undefined) sink.tell(oddWords(before, reading, came));
      } else if (missed === undefined) take(came, false);
      else {
        missed.came += came;
        if (came > 0) take(came, isStale(missed));
        if (missed.untilMicros === undefined) settle(missed);
      }
    },
  };
}

function missedWords(came: number, unheardMicros: Micros | undefined, isOld: boolean): StartTrouble {
  const dark = unheardMicros === undefined ? "nobody knows for how long" : `for ${span(unheardMicros)}`;
  const fate = isOld
    ? "counted, and what that earned was shed: that water went short"
    : "taken in as if just come";
  return {
    kind: "missed-contacts",
    words: `${many(came, "contact")} came while nobody listened (${dark}): ${fate}.`,
  };
}

function oddWords(before: number, reading: number, came: number | undefined): StartTrouble {
  const what =
    came === undefined
      ? `went back from ${before} to ${reading}: it was reset, or it is another meter`
      : `went on by ${many(came, "contact")} at once, from ${before} to ${reading}`;
  return {
    kind: "register-odd",
    words: `The meter's register ${what}. None of this is counted or fed; check the meter.`,
  };
}
