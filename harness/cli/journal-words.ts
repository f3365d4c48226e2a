/**
 * What does a journal tell a person who asks for no file? Totals, the last days, and what is amiss. Harness layer.
 */
import { ALARMS, SHED_CAUSES } from "../../lib/pacing/index.js";
import { quantity, showNumber, shown } from "../../lib/dosing/index.js";
import type { DayRow } from "../journal/export-days.js";
import { labelText } from "../journal/export-rows.js";
import type { Survey } from "../journal/export.js";
import { line, many, section, SHED_WORDS, span, whole, wrapped } from "../report/words.js";

const DAYS_SHOWN = 14;

const CAUTIONS: readonly string[] = [
  "Water, solution and dose are counts of contacts and strokes, not measurements of water. The log that your regulator " +
    "asks for needs measured residuals beside them.",
];

/** The whole text, without a last line end. */
export function journalText(folder: string, survey: Survey): string {
  const { total, days } = survey;
  const parts = [
    heading(folder, survey),
    section(
      `In all${total?.isWhole === false ? ", as far as it can be read" : ""}`,
      total === undefined ? [] : totalLines(total, survey),
    ),
    section(
      days.length > DAYS_SHOWN ? `The last ${DAYS_SHOWN} of ${days.length} days` : "Days",
      dayLines(days),
    ),
    section("Mind", mindLines(survey)),
  ];
  return parts.filter((part) => part !== "").join("\n\n");
}

function heading(folder: string, { total, runs }: Survey): string {
  if (total === undefined) return wrapped(`The journal in ${folder} holds nothing yet`);
  const { first, last, zone } = total;
  return wrapped(
    `The journal in ${folder}: ${labelText(first)} to ${labelText(last)} (${zone}), ${many(runs.length, "start")}`,
  );
}

function totalLines(total: DayRow, { runs, tallies }: Survey): string[] {
  const { contacts, ignored, rejected, paced, primed, uncertain, untold, shed, feed, restarts, darkUnknown } =
    total;
  const lines = [
    line(
      "contacts",
      `${whole(contacts)} that earned, ${whole(ignored)} ignored, ${whole(rejected)} rejected`,
    ),
    line("strokes", `${whole(paced)} paced, ${whole(primed)} primed${doubt(uncertain, untold)}`),
  ];
  if (tallies !== undefined) lines.push(line("owed now", many(tallies.owed, "stroke")));
  for (const cause of SHED_CAUSES.filter((cause) => shed[cause] > 0)) {
    lines.push(line("shed", `${whole(shed[cause])}: ${SHED_WORDS[cause]}`));
  }
  if (feed !== undefined) {
    lines.push(
      line("water", shown(quantity("volume", feed.litres, "L"))),
      line("solution", shown(quantity("volume", feed.millilitres, "mL"))),
      line(
        "mean dose",
        feed.meanMilligramsPerLitre === undefined
          ? "none: no water passed"
          : `${showNumber(feed.meanMilligramsPerLitre)} mg/L by count, ${showNumber(feed.wantedMilligramsPerLitre)} wanted`,
      ),
    );
  }
  const alarms = ALARMS.filter((alarm) => total.alarms[alarm] > 0).map(
    (alarm) => `${alarm} ${total.alarms[alarm]}`,
  );
  if (alarms.length > 0) lines.push(line("alarms", alarms.join(", ")));
  const troubles = Object.entries(total.troubles).map(([kind, count]) => `${kind} ${count}`);
  if (troubles.length > 0) lines.push(line("troubles", troubles.join(", ")));
  if (restarts > 0) {
    const unknown = darkUnknown > 0 ? `; at ${darkUnknown} of them nobody knows for how long` : "";
    lines.push(line("restarts", `${restarts}, dark for ${span(total.darkMicros)} together${unknown}`));
  }
  const open = runs.filter(({ end }) => end === undefined).length;
  if (open > 0) lines.push(line("no last word", `${many(open, "start")}: killed, or still going on`));
  return lines;
}

function doubt(uncertain: number, untold: number): string {
  const parts = [
    uncertain === 0 ? "" : `, ${whole(uncertain)} of them uncertain: they may not have been made`,
    untold === 0 ? "" : `, ${whole(untold)} of them asked for with no word from the pump yet`,
  ];
  return parts.join("");
}

function dayLines(days: readonly DayRow[]): string[] {
  if (days.length === 0) return [];
  const rows = days.slice(-DAYS_SHOWN).map((day) => {
    const { first, contacts, ignored, paced, primed, shed, feed, alarms, isWhole } = day;
    const counts = row([
      first.date,
      whole(contacts + ignored),
      whole(paced + primed),
      whole(SHED_CAUSES.reduce((sum, cause) => sum + shed[cause], 0)),
      feed === undefined ? "-" : showNumber(feed.litres, 6),
      feed === undefined ? "-" : showNumber(feed.millilitres, 6),
      feed?.meanMilligramsPerLitre === undefined ? "-" : showNumber(feed.meanMilligramsPerLitre),
      whole(ALARMS.reduce((sum, alarm) => sum + alarms[alarm], 0)),
    ]);
    return isWhole ? counts : `${counts} *`;
  });
  return [row(["date", "contacts", "strokes", "shed", "water L", "solut. mL", "mg/L", "alarms"]), ...rows];
}

function row(cells: readonly string[]): string {
  const widths = [10, 9, 9, 8, 10, 10, 7, 6];
  return `  ${cells.map((cell, at) => cell.padStart(widths[at] ?? 0)).join(" ")}`;
}

function mindLines({ troubles, unplanned, runs, total }: Survey): string[] {
  const some = unplanned.length === runs.length ? "" : ` in ${many(unplanned.length, "start")}`;
  const unknown =
    unplanned.length === 0 || total === undefined
      ? []
      : [
          `Nobody said what a contact and a stroke are${some}: give --plan PLAN.json for water, solution and dose.`,
        ];
  const least = total?.isWhole === false ? ["Counts in a row with * are least ones."] : [];
  return [...troubles.map((trouble) => `NOT WHOLE: ${trouble}`), ...least, ...unknown, ...CAUTIONS].map(
    (text) => wrapped(text, "  - ", "    "),
  );
}
