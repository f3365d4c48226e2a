/**
 * What of a trace is drawn in a timing diagram, and in which lane? Ticks, bars, and what was owed. Harness layer.
 */
import type { Micros } from "../../../../lib/pacing/index.js";
import type { TraceEvent } from "../../../../lib/trace/index.js";

/** A tick in a lane; `text` stands over it. */
export interface Mark {
  readonly lane: string;
  readonly atMicros: Micros;
  readonly look: "tick" | "cross" | "hollow";
  readonly text: string;
}

/** A bar in a lane. */
export interface Bar {
  readonly lane: string;
  readonly fromMicros: Micros;
  readonly toMicros: Micros;
  readonly look: "closed" | "mode" | "alarm";
}

/** Everything that is drawn. */
export interface Drawing {
  readonly marks: readonly Mark[];
  readonly bars: readonly Bar[];
  readonly owed: readonly { readonly atMicros: Micros; readonly owed: number }[];
}

/** Reads a stretch of a trace; bars that stand at its ends reach to those of the drawing. */
export function readEvents(
  events: readonly TraceEvent[],
  [startMicros, endMicros]: [Micros, Micros],
): Drawing {
  const marks: Mark[] = [];
  const bars: Bar[] = [];
  const owed: { atMicros: Micros; owed: number }[] = [];
  const since = new Map<string, { readonly atMicros: Micros; readonly look: Bar["look"] }>();
  const told = new Set<string>();
  const mark = (lane: string, atMicros: Micros, text = "", look: Mark["look"] = "tick"): void => {
    marks.push({ lane, atMicros, text, look });
  };
  const turn = (lane: string, on: boolean, atMicros: Micros, look: Bar["look"]): void => {
    const begun = since.get(lane);
    if (on) {
      if (begun === undefined) since.set(lane, { atMicros, look });
    } else if (begun !== undefined || !told.has(lane)) {
      // What ends without having begun stood from before the first event on.
      bars.push({ lane, fromMicros: begun?.atMicros ?? startMicros, toMicros: atMicros, look });
      since.delete(lane);
    }
    told.add(lane);
  };
  for (const event of events) {
    const { kind, atMicros } = event;
    switch (kind) {
      case "close":
      case "open":
        turn("line", kind === "close", atMicros, "closed");
        break;
      case "counted":
        mark("contacts", atMicros, event.earned > 0 ? `+${event.earned}` : "");
        break;
      case "ignored":
      case "rejected":
        mark("contacts", atMicros, kind, kind === "ignored" ? "hollow" : "cross");
        break;
      case "paced":
      case "primed":
        mark(kind, atMicros);
        break;
      case "shed":
        mark("shed", atMicros, `−${event.strokes} ${event.cause}`, "cross");
        break;
      case "settings":
      case "refused":
        mark(
          "settings",
          atMicros,
          kind === "refused" ? "refused" : "",
          kind === "refused" ? "cross" : "tick",
        );
        break;
      case "reset":
        mark("settings", atMicros, "reset");
        break;
      case "fault":
        mark("fault", atMicros, event.message.slice(0, 40), "cross");
        break;
      case "status":
        owed.push({ atMicros, owed: event.owed });
        break;
      case "prime-on":
      case "prime-off":
      case "hold-on":
      case "hold-off":
      case "inhibit-on":
      case "inhibit-off":
        turn(kind.replace(/-.*/, ""), kind.endsWith("-on"), atMicros, "mode");
        break;
      case "power-off":
      case "power-on":
        turn("dark", kind === "power-off", atMicros, "mode");
        break;
      case "alarm-on":
      case "alarm-off":
        turn(event.alarm, kind === "alarm-on", atMicros, "alarm");
        break;
      case "wake":
      case "contact":
        break;
    }
  }
  for (const [lane, { atMicros, look }] of since)
    bars.push({ lane, fromMicros: atMicros, toMicros: endMicros, look });
  return { marks, bars, owed };
}
