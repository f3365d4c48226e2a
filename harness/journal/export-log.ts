/**
 * What of a journal should a person read, in words and in order? Starts and ends, alarms, orders, troubles. Harness layer.
 *
 * The order is that of the journal's own time, which no set clock disturbs. What happens all the time is left to the trace.
 */
import type { Micros } from "../../lib/pacing/index.js";
import { ALARM_WORDS, span } from "../report/words.js";
import type { JournalSink } from "./export.js";
import { labelsIn } from "./export-label.js";
import { csvLine, labelText } from "./export-rows.js";
import type { JournalRun } from "./reading.js";

export const LOG_HEADER = "local_time,zone,run,what,words";

/** One thing that a person should know of. */
export interface LogRow {
  readonly atMicros: Micros;
  readonly wallMs: number;
  readonly run: number;
  readonly zone: string;
  readonly what: string;
  readonly words: string;
}

/** Gathers rows; they are few beside the events. */
export function newLog(): JournalSink & { rows(): readonly LogRow[] } {
  const runs = new Map<number, JournalRun>();
  const rows: LogRow[] = [];
  const add = (at: Pick<LogRow, "atMicros" | "wallMs" | "run">, what: string, words: string): void => {
    rows.push({ ...at, zone: runs.get(at.run)?.zone ?? "UTC", what, words });
  };
  return {
    run(run) {
      runs.set(run.run, run);
      add(
        { atMicros: run.startMicros, wallMs: run.startWallMs, run: run.run },
        "start",
        startWords(run, runs.size === 1),
      );
    },
    event({ run, wallMs, event }) {
      const at = { atMicros: event.atMicros, wallMs, run };
      if (event.kind === "alarm-on") add(at, "alarm", `${event.alarm}: ${ALARM_WORDS[event.alarm]}`);
      else if (event.kind === "alarm-off") add(at, "alarm over", event.alarm);
      const words = ORDERS[event.kind];
      if (words !== undefined) add(at, event.kind, "cause" in event ? `${words}: ${event.cause}` : words);
    },
    note({ run, wallMs, atMicros, kind, words }) {
      add({ atMicros, wallMs, run }, kind, words);
    },
    rows: () =>
      [...rows, ...ends(runs, rows)].sort(
        (one, other) => one.atMicros - other.atMicros || one.run - other.run,
      ),
  };
}

/** One line of the CSV file; labels are made once a zone. */
export function logLines(rows: readonly LogRow[]): string[] {
  const labels = new Map<string, ReturnType<typeof labelsIn>>();
  return rows.map(({ wallMs, run, zone, what, words }) => {
    const label = labels.get(zone) ?? labelsIn(zone);
    labels.set(zone, label);
    return csvLine([labelText(label(wallMs)), zone, run, what, words]);
  });
}

const ORDERS: { readonly [kind: string]: string } = {
  "prime-on": "prime is pressed",
  "prime-off": "prime is released",
  "hold-on": "the operator holds the feed",
  "hold-off": "the hold ends",
  reset: "the operator resets",
  settings: "other settings come into force",
  refused: "other settings are refused",
  "inhibit-on": "strokes are forbidden",
  "inhibit-off": "strokes are allowed again",
};

function startWords({ darkMicros, meter, pump, version }: JournalRun, isFirst: boolean): string {
  const known = darkMicros === undefined ? "an unknown time" : span(Math.round(darkMicros));
  return `the feed starts${isFirst ? "" : `, after ${known} of dark`}: meter ${meter}, pump ${pump}, version ${version}`;
}

/** The last word of each run that has one, after all else of it; the others were killed, or go on. */
function ends(runs: ReadonlyMap<number, JournalRun>, rows: readonly LogRow[]): LogRow[] {
  const last = new Map<number, Micros>();
  for (const { run, atMicros } of rows) last.set(run, Math.max(atMicros, last.get(run) ?? 0));
  return [...runs.values()].flatMap(({ run, zone, end, endWallMs }) =>
    end === undefined || endWallMs === undefined
      ? []
      : [{ atMicros: last.get(run) ?? 0, wallMs: endWallMs, run, zone, what: "end", words: end }],
  );
}
