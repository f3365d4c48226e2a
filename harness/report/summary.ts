/**
 * What does a run tell a person? Plain words, 80 columns, meaning never by colour alone. Harness layer.
 */
import type { Verdict } from "../../lib/laws/index.js";
import { type Alarm, FULL_STROKE_STATEMENT, SHED_CAUSES, type ShedCause } from "../../lib/pacing/index.js";
import { chartOf } from "./chart.js";
import type { RunReport } from "./report.js";
import type { Tally } from "./tally.js";
import { clock, many, span, whole, wrapped } from "./words.js";

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

const SHED_WORDS: { readonly [cause in ShedCause]: string } = {
  limit: "more was owed than the limit allows; that water is underfed",
  still: "flow had stopped for the grace, and still water must not be dosed",
  hold: "the operator held the feed",
  inhibit: "an interlock forbade strokes; that water is underfed",
  trip: "the guard had tripped; that water is underfed",
  power: "the power was off for too long, or nobody knows how long",
};

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

const ALARM_WORDS: { readonly [alarm in Alarm]: string } = {
  stuck: "the contact stayed closed too long: water came to rest on it, or a fault of meter or wire",
  silent: "no contact came for too long: no flow, or a broken wire",
  "too-fast": "contacts came faster than the meter can make them",
  "owed-limit":
    "strokes were shed at the owed limit: flow was above what the cap can feed, and water went short",
  "still-water": "owed strokes were shed, since flow had stopped",
  "shed-in-hold": "a hold shed what was owed: that water went short",
  "shed-in-inhibit": "an interlock shed strokes: water that passed meanwhile went short",
  tripped: "the guard saw more strokes than its budget and stopped the feed",
  "prime-too-long": "prime was held past its longest",
  "shed-at-restart": "a power loss shed what was owed: that water went short",
  "change-refused": "a change of settings needed confirmation",
};

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

function marginText(margin: number, unit: string): string {
  if (unit === "µs") return span(margin);
  return `${whole(margin)} ${margin === 1 ? unit.replace(/s$/, "") : unit}`;
}

function cautions(): string[] {
  return [
    FULL_STROKE_STATEMENT,
    "This is a simulation, not a measurement of water. Local codes, the product labels and a licensed operator or " +
      "engineer decide.",
    "Hypochlorite burns, and makes poisonous gas with acid or ammonia.",
  ].map((text) => wrapped(text, "  ", "  "));
}
