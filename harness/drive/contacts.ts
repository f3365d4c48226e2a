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

/** What is done with contacts: of the feed. */
export interface ContactSink {
  /** What is given within `act` is kept in one transaction, unless a stroke is among it. */
  batch(act: (give: (input: LiveInput) => void) => void): void;
  /** The register has changed, and nothing else has. */
  keepRegister(): void;
  tell(trouble: StartTrouble): void;
  /** The still-water grace in force. */
  graceMicros(): Micros;
}

export interface Contacts {
  /** Up to which contacts are taken; undefined while none is known. */
  readonly register: number | undefined;
  /** The meter told its register. */
  hear(reading: number): void;
  /** The next reading tells what came while nobody listened; how long that was, undefined where nobody knows. */
  missSome(unheardMicros: Micros | undefined): void;
}

export function countContacts(kept: number | undefined, sink: ContactSink): Contacts {
  let register = kept;
  let gap: { readonly unheardMicros: Micros | undefined } | undefined;

  const take = (count: number, isStale: boolean): void => {
    sink.batch((give) => {
      // Water that has long passed is not dosed: its contacts earn, and what they earn is shed.
      if (isStale) give({ kind: "inhibit-on", cause: "other" });
      for (let i = 0; i < count; i++) {
        register = countedOn(register ?? 0, 1);
        give({ kind: "contact" });
      }
      if (isStale) give({ kind: "inhibit-off", cause: "other" });
    });
  };

  return {
    get register() {
      return register;
    },
    missSome(unheardMicros) {
      gap = { unheardMicros };
    },
    hear(reading) {
      const missed = gap;
      gap = undefined;
      const before = register;
      const came = before === undefined ? undefined : countedSince(before, reading);
      if (before === undefined || came === undefined || came > JUMP_MOST) {
        register = reading;
        sink.keepRegister();
        if (before !== undefined) sink.tell(oddWords(before, reading, came));
      } else if (missed === undefined || came === 0) take(came, false);
      else {
        const isStale = missed.unheardMicros === undefined || missed.unheardMicros >= sink.graceMicros();
        take(came, isStale);
        sink.tell(missedWords(came, missed.unheardMicros, isStale));
      }
    },
  };
}

function missedWords(came: number, unheardMicros: Micros | undefined, isStale: boolean): StartTrouble {
  const dark = unheardMicros === undefined ? "nobody knows for how long" : `for ${span(unheardMicros)}`;
  const fate = isStale
    ? "they were counted, and what they earned was shed: that water went short"
    : "they are fed";
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
