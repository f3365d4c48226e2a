/**
 * How is a live feed told in lines, to people without a terminal and to machines? Harness layer, pure.
 *
 * People get one line for what matters: the start, alarms, what was shed, holds and trips, troubles, a summary each
 * minute, the end. Machines get every event, as one JSON object a line.
 */
import { type Micros, SHED_CAUSES } from "../../lib/pacing/index.js";
import { detailOf, type EventKind, formatSeconds, type TraceEvent } from "../../lib/trace/index.js";
import { ALARM_WORDS, clock, many, SHED_WORDS, whole, wrapped } from "../report/words.js";
import type { FeedEnd } from "./end.js";
import type { DriveStatus, Trouble } from "./status.js";

/** What is told, in the form that was asked for; each text ends its lines. */
export interface FeedLines {
  start(status: DriveStatus, cautions: readonly string[]): string;
  /** `elapsedMicros` is of the moment at which it is told. */
  event(event: TraceEvent, elapsedMicros: Micros): string;
  trouble(trouble: Trouble): string;
  summary(status: DriveStatus): string;
  end(status: DriveStatus, end: FeedEnd): string;
}

export const plainLines: FeedLines = {
  start(status, cautions) {
    const { meter, pump, journal, ratio, capPerMinute, elapsedMicros } = status;
    return [
      ...cautions.map((caution) => wrapped(caution, "Caution: ")),
      `${clock(elapsedMicros)}  Feed begins: ${ratio}, at most ${capPerMinute} strokes a minute.`,
      `          Meter ${meter.spec} (${meter.name}), pump ${pump.spec} (${pump.name}), journal ${journal}.`,
      plainLines.summary(status),
    ].join("\n");
  },
  event(event, elapsedMicros) {
    const words = eventWords(event);
    return words === undefined ? "" : `${clock(elapsedMicros)}  ${words}\n`;
  },
  trouble: ({ atMicros, words }) => `${clock(atMicros)}  Trouble: ${words}\n`,
  summary: (status) => `${clock(status.elapsedMicros)}  ${standWords(status)}\n`,
  end(status, end) {
    const why = end.kind === "asked" ? `Feed ends (${end.why}).` : "Feed ends, it failed (see above).";
    return `${plainLines.summary(status)}${clock(status.elapsedMicros)}  ${why}\n`;
  },
};

export const jsonLines: FeedLines = {
  start: (status, cautions) => json("start", { cautions, status }),
  event: (event) =>
    json("event", { time_s: formatSeconds(event.atMicros), event: event.kind, detail: detailOf(event) }),
  trouble: (trouble) => json("trouble", { trouble }),
  summary: (status) => json("status", { status }),
  end: (status, end) => json("end", { end, status }),
};

function json(kind: string, rest: object): string {
  return `${JSON.stringify({ kind, ...rest })}\n`;
}

function eventWords(event: TraceEvent): string | undefined {
  if (event.kind === "alarm-on") return `Alarm: ${event.alarm}: ${ALARM_WORDS[event.alarm]}.`;
  if (event.kind === "alarm-off") return `Alarm over: ${event.alarm}.`;
  // At the owed limit each contact sheds: the alarm has told, and the summaries count.
  if (event.kind === "shed" && event.cause !== "limit") {
    return `${many(event.strokes, "stroke")} shed (${event.cause}): ${SHED_WORDS[event.cause]}.`;
  }
  return PLAIN_WORDS[event.kind];
}

// Contacts and strokes are many, and stand in the summaries.
const PLAIN_WORDS: { readonly [kind in EventKind]?: string } = {
  "hold-on": "Hold: pacing is paused, contacts are ignored.",
  "hold-off": "Hold is over.",
  "prime-on": "Prime: strokes while the key is held.",
  "prime-off": "Prime is over.",
  reset: "Reset.",
  refused: "A change of settings was refused.",
  settings: "New settings are given.",
};

function standWords(status: DriveStatus): string {
  const { contacts, ignored, paced, primed, owed, uncertain, strokesPerMinute, dose } = status;
  const shed = SHED_CAUSES.reduce((sum, cause) => sum + status.shed[cause], 0);
  const parts = [
    `${many(contacts, "contact")}${ignored > 0 ? ` and ${whole(ignored)} ignored` : ""}`,
    `${many(paced, "stroke")}${primed > 0 ? ` and ${whole(primed)} primed` : ""}${uncertain > 0 ? `, ${whole(uncertain)} of them uncertain` : ""}`,
    `${whole(owed)} owed`,
    `${whole(shed)} shed`,
    `${whole(strokesPerMinute)} in the last minute`,
  ];
  if (dose?.milligramsPerLitre !== undefined) {
    parts.push(
      `dose ${dose.milligramsPerLitre.toFixed(2)} of ${dose.wantedMilligramsPerLitre.toFixed(2)} mg/L by count`,
    );
  }
  const stands = [
    ...(status.held ? ["held"] : []),
    ...(status.tripped ? ["tripped"] : []),
    ...status.alarms.map((alarm) => `alarm ${alarm}`),
  ];
  return `${parts.join(", ")}${stands.length > 0 ? `; ${stands.join(", ")}` : ""}.`;
}
