/**
 * What of a run is drawn, within which bounds, and which moments are marked? Harness layer.
 *
 * The moments are exact: they come from the tally, the verdicts and the sink, not from what was merged for drawing.
 */
import { MINUTE } from "../../../lib/pacing/index.js";
import type { RunReport } from "../report.js";
import { ALARM_WORDS, many, span } from "../words.js";
import type { ReportInput } from "./input.js";
import type { PageData } from "./page-data.js";
import type { Moment } from "./series.js";
import type { Drawn } from "./sink.js";
import { timeIn } from "./time-axis.js";

/** The limit is shown where what was owed came to this part of it. */
const LIMIT_NEAR = 0.2;
const HEADROOM = 1.15;

export function pageDataOf({ report, drawn }: ReportInput): PageData {
  const { leastSpacingMicros, owedLimitStrokes } = report.inForce;
  const cap = MINUTE / leastSpacingMicros;
  const most = drawn.mostOwed?.value ?? 0;
  const owedLimitShown = most >= LIMIT_NEAR * owedLimitStrokes;
  const highest = drawn.leastSpacing === undefined ? 0 : MINUTE / Math.max(1, drawn.leastSpacing.value);
  const { downstream } = drawn;
  return {
    run: drawn.run,
    whole: wholeOf(drawn),
    moments: momentsOf(report, drawn),
    cap,
    rateTop: HEADROOM * Math.max(cap, highest),
    owedLimit: owedLimitStrokes,
    owedLimitShown,
    owedTop: HEADROOM * Math.max(1, most, owedLimitShown ? owedLimitStrokes : 0),
    downstream: downstream && {
      series: downstream.series,
      wanted: downstream.water.wantedMgPerLitre,
      top:
        HEADROOM *
        Math.max(
          downstream.water.wantedMgPerLitre,
          // Not Math.max(...): there may be more of them than arguments.
          downstream.series.columns.most.reduce((top, value) => (value > top ? value : top), 0),
        ),
    },
    words: { timeline: timelineWords(report, drawn) },
  };
}

/** All of it, with a little room at either end. */
function wholeOf({ firstMicros, lastMicros }: Drawn): PageData["whole"] {
  const room = Math.max(1_000, Math.round((lastMicros - firstMicros) * 0.01));
  return { fromMicros: Math.max(0, firstMicros - room), toMicros: lastMicros + room };
}

function momentsOf({ verdicts, tally, inForce }: RunReport, { mostOwed, leastSpacing }: Drawn): Moment[] {
  const moments: Moment[] = verdicts
    .filter(({ answer }) => answer === "broken")
    .map(({ law, brokenAtMicros, evidence }) => ({
      id: `broken-${law}`,
      says: `law broken: ${law}${evidence === undefined ? "" : `, ${evidence}`}`,
      atMicros: brokenAtMicros ?? 0,
      row: law === "cap" ? "rate" : "strokes",
    }));
  if (mostOwed !== undefined && mostOwed.value > 0) {
    const limit = many(inForce.owedLimitStrokes, "stroke");
    moments.push({
      id: "most-owed",
      says: `most owed: ${many(mostOwed.value, "stroke")}, limit ${limit}`,
      atMicros: mostOwed.atMicros,
      row: "owed",
    });
  }
  if (leastSpacing !== undefined) {
    moments.push({
      id: "least-spacing",
      says: `least time between two strokes: ${span(leastSpacing.value)}, the cap asks ${span(inForce.leastSpacingMicros)}`,
      atMicros: leastSpacing.atMicros,
      row: "rate",
    });
  }
  const dry = tally.dry();
  if (dry !== undefined && dry.contacts > 1) {
    moments.push({
      id: "undosed",
      says: `most water without a stroke: ${many(dry.contacts, "contact")} in ${span(dry.untilMicros - dry.fromMicros)}`,
      atMicros: dry.fromMicros,
      row: "contacts",
    });
  }
  for (const { alarm, raised, firstMicros } of tally.alarms.values()) {
    const times = raised === 1 ? "raised once" : `first of ${raised} times`;
    moments.push({
      id: `alarm-${alarm}`,
      says: `alarm ${alarm}, ${times}: ${ALARM_WORDS[alarm]}`,
      atMicros: firstMicros,
      row: "standing",
    });
  }
  return moments;
}

function timelineWords(
  { tally }: RunReport,
  { firstMicros, lastMicros, mostOwed, leastSpacing }: Drawn,
): string {
  const lengthMicros = lastMicros - firstMicros;
  return [
    `From ${timeIn(firstMicros, lengthMicros)} to ${timeIn(lastMicros, lengthMicros)}: ${many(tally.contacts + tally.ignored, "contact")}, ` +
      `${many(tally.paced, "paced stroke")} and ${many(tally.primed, "primed stroke")}`,
    ...(mostOwed === undefined
      ? []
      : [`at most ${many(mostOwed.value, "stroke")} owed at ${timeIn(mostOwed.atMicros, lengthMicros)}`]),
    ...(leastSpacing === undefined
      ? []
      : [
          `least time between strokes ${span(leastSpacing.value)} at ${timeIn(leastSpacing.atMicros, lengthMicros)}`,
        ]),
    "the table below has the numbers.",
  ].join("; ");
}
