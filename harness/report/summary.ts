/**
 * What does a run tell a person? Plain words, 80 columns, meaning never by colour alone. Harness layer.
 */
import type { Verdict } from "../../lib/laws/index.js";
import { SHED_CAUSES } from "../../lib/pacing/index.js";
import { chartOf } from "./chart.js";
import type { RunReport } from "./report.js";
import type { Tally } from "./tally.js";
import { ALARM_WORDS, CAUTIONS, clock, many, marginText, SHED_WORDS, span, whole, wrapped } from "./words.js";

/** The whole summary, without a last line end. */
export function summaryOf(report: RunReport): string {
  const { tally } = report;
  const parts = [
    heading(report),
    section("What passed", waterLines(report)),
    section("What was fed", feedLines(tally)),
    section("Where the cap bit", capLines(report)),
    section("Alarms", alarmLines(tally)),
    chartOf(tally.bins),
    section("Laws", report.verdicts.map(lawLine)),
    section("Mind", cautions()),
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

function heading({ source, settings, tally }: RunReport): string {
  const from =
    tally.firstMicros === undefined
      ? "empty log"
      : `${clock(tally.firstMicros)} to ${clock(tally.lastMicros ?? 0)}`;
  return [
    wrapped(`${source}, ${from}`),
    wrapped(
      `Ratio ${settings["ratio"]} strokes to contacts, at most ${settings["cap"]} strokes a minute, ` +
        `cadence ${settings["cadence"]}, grace ${settings["grace"]}, at most ${settings["owed-limit"]} owed, ` +
        `guard ${settings["guard"]}`,
    ),
  ].join("\n");
}

function section(title: string, lines: readonly string[]): string {
  return [title, ...lines].join("\n");
}

function line(name: string, text: string): string {
  return wrapped(text, `  ${name.padEnd(12)}`);
}

function waterLines({ tally, bounces }: RunReport): string[] {
  const lines = [line("contacts", `${whole(tally.contacts)} that earned strokes`)];
  if (tally.ignored > 0)
    lines.push(line("ignored", `${many(tally.ignored, "contact")}, while held or priming`));
  if (tally.rejected > 0) {
    lines.push(line("rejected", `${many(tally.rejected, "contact")}, faster than the meter can make them`));
  }
  if (bounces > 0) lines.push(line("bounce", `${many(bounces, "closure")} not counted`));
  const dry = tally.dry();
  if (dry !== undefined) {
    const lasting = span(dry.untilMicros - dry.fromMicros);
    lines.push(
      line(
        "undosed",
        `longest stretch of water without a stroke: ${many(dry.contacts, "contact")}, ` +
          `${lasting} from the first of them on, at ${clock(dry.fromMicros)}`,
      ),
    );
  }
  return lines;
}

function feedLines(tally: Tally): string[] {
  const lines = [
    line("earned", many(tally.earned, "stroke")),
    line("paced", `${many(tally.paced, "stroke")}${share(tally.paced, tally.earned)}`),
  ];
  for (const cause of SHED_CAUSES) {
    const strokes = tally.shed[cause];
    if (strokes > 0) {
      lines.push(
        line("shed", `${many(strokes, "stroke")}${share(strokes, tally.earned)}: ${SHED_WORDS[cause]}`),
      );
    }
  }
  lines.push(line("owed", `${many(tally.owed, "stroke")} at the end, ${tally.mostOwed} at most`));
  lines.push(line("primed", `${many(tally.primed, "stroke")}, beside the paced ones`));
  if (tally.refused > 0) lines.push(line("refused", many(tally.refused, "change") + " of settings"));
  for (const fault of tally.faults) lines.push(line("fault", fault));
  return lines;
}

function share(part: number, all: number): string {
  return all === 0 ? "" : ` (${((100 * part) / all).toFixed(part === all ? 0 : 2)} % of the earned)`;
}

function capLines({ tally, inForce }: RunReport): string[] {
  const { cap } = tally;
  if (cap.strokes === 0) return ["  Nowhere: no stroke had to wait for the cap."];
  return [
    line(
      "held back",
      `${many(cap.strokes, "stroke")} in ${many(cap.stretches, "stretch").replace("stretchs", "stretches")}, ` +
        `the first at ${clock(cap.firstMicros)}`,
    ),
    line("longest", `${span(cap.longestMicros)} at ${clock(cap.longestAtMicros)}`),
    line(
      "most owed",
      `${many(tally.mostOwed, "stroke")} at ${clock(tally.mostOwedMicros)}; limit ${inForce.owedLimitStrokes}`,
    ),
  ];
}

function alarmLines(tally: Tally): string[] {
  const alarms = [...tally.alarms.values()];
  if (alarms.length === 0) return ["  None."];
  return alarms.map(({ alarm, raised, firstMicros, standing }) => {
    const times = `${raised} ${raised === 1 ? "time" : "times"}, first at ${clock(firstMicros)}`;
    return wrapped(
      `${ALARM_WORDS[alarm]}; ${times}${standing ? ", still standing at the end" : ""}`,
      `  ${alarm.padEnd(16)}`,
    );
  });
}

function lawLine({ law, number, answer, margin, unit, checked, evidence, brokenAtMicros }: Verdict): string {
  const name = `  ${String(number).padStart(2)} ${law.padEnd(13)}`;
  if (answer === "broken") {
    return wrapped(`BROKEN at ${clock(brokenAtMicros ?? 0)}: ${evidence ?? "no evidence"}`, name);
  }
  if (answer === "cannot tell") return wrapped(`CANNOT TELL: ${evidence ?? "it was not seen"}`, name);
  const looked = checked === 0 ? "nothing to look at" : `looked at ${whole(checked)} times`;
  const by = margin === null ? "" : `, margin ${marginText(margin, unit)}`;
  return wrapped(`holds${by}, ${looked}`, name);
}

function cautions(): string[] {
  return CAUTIONS.map((text) => wrapped(text, "  ", "  "));
}
