/**
 * What does a device say that it is? The lines of a greeting, read. Harness layer; LINK.md, section 4.
 *
 * Unknown words in lists are passed over, so that a later device can say more; what the bench needs must be there.
 */
import type { DeviceAbout } from "../device.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import { isEventKind, isStimulusKind, type StimulusEvent } from "../../lib/trace/index.js";
import type { TickBits } from "../../lib/pacing/index.js";
import { LinkFault } from "./link-fault.js";
import { whole } from "./message-number.js";
import { SETTING_NAMES } from "./setting-names.js";

/** One line: what it tells and its words. */
export interface GreetingLine {
  readonly what: string;
  readonly words: string;
}

/** What a greeting says of how to ask. */
export interface SessionTerms {
  readonly window: number;
  readonly keep: number;
  /** In the plant every report tells the whole, so that a lost one is passed over, and a refusal ends nothing. */
  readonly isPlant?: boolean;
}

export interface Greeting extends SessionTerms {
  readonly about: DeviceAbout;
  readonly ticksPerSecond: number;
  readonly bits: TickBits;
  readonly queue: number;
}

const MICROS_PER_SECOND = 1_000_000;

/** Reads a whole greeting; throws a LinkFault if it lacks what the bench needs, or says what cannot be. */
export function readGreeting(lines: readonly GreetingLine[], spec: string): Greeting {
  const words = (what: string): string[] =>
    lines
      .filter((line) => line.what === what)
      .flatMap((line) => line.words.split(" ").filter((word) => word));
  const number = (what: string, at: number, least: number, most: number): number => {
    const value = whole(words(what)[at], least, most);
    if (value === undefined) throw wrong(what, words(what).join(" "));
    return value;
  };
  number("link", 0, 1, 1);
  const role = words("role")[0];
  if (role === "plant") throw wrong("role", role, "give a meter or a pump to `tallystroke drive`");
  if (role !== "controller" && role !== "fixture") throw wrong("role", role ?? "");
  const ticksPerSecond = number("ticks", 0, 1_000, MICROS_PER_SECOND);
  const bits = number("ticks", 1, 16, 32);
  if (bits !== 16 && bits !== 24 && bits !== 32) throw wrong("ticks", words("ticks").join(" "));
  const clock = new Set(words("clock"));
  if (!clock.has("stepped") && !clock.has("free")) throw wrong("clock", [...clock].join(" "));
  const settable = new Set(words("settings"));
  const laws = new Set(words("laws"));
  return {
    about: {
      spec,
      name: words("name").join(" ") || "a device without a name",
      role,
      clock: clock.has("stepped") ? "virtual" : "real",
      tickMicros: MICROS_PER_SECOND / ticksPerSecond,
      takes: new Set(words("takes").filter(isInput)),
      tells: new Set(
        words("tells")
          // A stroke of unknown cause is told as one or the other.
          .flatMap((kind) => (kind === "stroke" ? ["paced", "primed"] : [kind]))
          .filter(isEventKind),
      ),
      laws: new Set(LAW_NAMES.filter((_, i) => laws.has(String(i + 1)))),
      settable: new Set(SETTING_NAMES.filter((name) => settable.has(name))),
      canStartAt: clock.has("settable"),
      canLag: clock.has("lag"),
    },
    ticksPerSecond,
    bits,
    queue: number("queue", 0, 1, 255),
    window: number("window", 0, 1, 16),
    keep: number("keep", 0, 0, 65_535),
  };
}

function isInput(kind: string): kind is StimulusEvent["kind"] {
  return isEventKind(kind) && isStimulusKind(kind);
}

function wrong(what: string, words: string, mend?: string): LinkFault {
  const said = words === "" ? "nothing" : `"${words}"`;
  return new LinkFault("nonsense", `the greeting says ${said} for "is ${what}"`, mend);
}
