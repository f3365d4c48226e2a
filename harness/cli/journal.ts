/**
 * `tallystroke journal`: what a live feed left behind, as days, totals, a log and a trace. Harness layer; reads only.
 */
import { Command } from "commander";
import { formatRow, TRACE_HEADER } from "../../lib/trace/index.js";
import { InputError } from "../files/fault.js";
import { createRowFile, type RowFile } from "../files/row-file.js";
import type { FeedTerms } from "../journal/export-days.js";
import { LOG_HEADER, logLines, newLog } from "../journal/export-log.js";
import {
  dayLine,
  dayObject,
  DAYS_HEADER,
  totalLine,
  totalObject,
  TOTALS_HEADER,
} from "../journal/export-rows.js";
import { replayableOrder } from "../journal/export-trace.js";
import { feedTermsOf, type JournalSink, type Survey, surveyJournal } from "../journal/export.js";
import { JournalError } from "../journal/fault.js";
import { type JournalReading, readJournal } from "../journal/reading.js";
import { writeWhole } from "../files/whole-file.js";
import { readPlanFile } from "../plan/plan-file.js";
import { wrapped } from "../report/words.js";
import { journalText } from "./journal-words.js";
import type { ExitStatus, Terminal } from "./terminal.js";

const EXAMPLES = `
Examples:
  tallystroke journal JOURNAL
  tallystroke journal JOURNAL --plan PLAN.json --days DAYS.csv --log LOG.csv
  tallystroke journal JOURNAL --trace TRACE.csv --settings-out SETTINGS.json

It reads only, also while a feed goes on. A day is the local day of the wall
clock's label; a clock that is set makes a day longer or shorter, never two of
one date. Water is every contact that was not rejected, and all strokes count as
fed, primed and uncertain ones too. Water and dose need a plan: the one that
drive was given, or --plan for all. What is not known is empty; in a row with
whole=no a part could not be read, and each count is a least one.
Exit status: 0 read; 2 no journal there, or bad input; 3 it is damaged or its
accounts do not agree: what could be read is written, and the rest is told.`;

interface Options {
  readonly plan?: string;
  readonly days?: string;
  readonly totals?: string;
  readonly log?: string;
  readonly trace?: string;
  readonly settingsOut?: string;
  readonly json?: true;
}

export function journalVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  return new Command("journal")
    .description("Read the journal of a live feed: days, totals, alarms.")
    .argument("<folder>", "what was given to drive --journal")
    .option("--plan <file>", "a plan file: what a contact and a stroke are, in place of what drive was given")
    .option("--days <file>", "write a row a day as CSV: an operator's daily log")
    .option("--totals <file>", "write the totals as CSV")
    .option("--log <file>", "write starts, ends, alarms, orders and troubles in words as CSV")
    .option("--trace <file>", "write all that went in and came out, for simulate")
    .option("--settings-out <file>", "write the settings that the trace begins with, for simulate --settings")
    .option("--json", "one object for machines instead of the text")
    .addHelpText("after", EXAMPLES)
    .action(async (folder: string, options: Options) => {
      const terms =
        options.plan === undefined ? undefined : feedTermsOf(readPlanFile(options.plan), options.plan);
      refuseSame(options);
      let reading: JournalReading;
      try {
        reading = readJournal(folder);
      } catch (error) {
        if (!(error instanceof JournalError)) throw error;
        terminal.talk(`${wrapped(error.message)}\n`);
        finish(error.fault.kind === "not a journal" ? 2 : 3);
        return;
      }
      try {
        const survey = writeAll(reading, terms, options);
        if (options.json === true) {
          for (const trouble of survey.troubles) terminal.talk(`${wrapped(`NOT WHOLE: ${trouble}`)}\n`);
        }
        await terminal.result(
          options.json === true
            ? `${JSON.stringify(journalObject(folder, survey), null, 2)}\n`
            : `${journalText(folder, survey)}\n`,
        );
        finish(survey.troubles.length === 0 ? 0 : 3);
      } finally {
        reading.close();
      }
    });
}

/** Surveys the journal and writes what was asked for; what could be read is written, however much that is. */
function writeAll(reading: JournalReading, terms: FeedTerms | undefined, options: Options): Survey {
  const files: RowFile[] = [];
  const open = (path: string | undefined, header: string): RowFile | undefined => {
    const file = path === undefined ? undefined : createRowFile(path, header);
    if (file !== undefined) files.push(file);
    return file;
  };
  try {
    const days = open(options.days, DAYS_HEADER);
    const totals = open(options.totals, TOTALS_HEADER);
    const logFile = open(options.log, LOG_HEADER);
    const trace = open(options.trace, TRACE_HEADER);
    const log = newLog();
    const replayable = replayableOrder();
    const traced: JournalSink = { event: ({ event }) => trace?.line(formatRow(replayable(event))) };
    const survey = surveyJournal(reading, terms, [traced, log]);
    for (const day of survey.days) days?.line(dayLine(day));
    if (survey.total !== undefined) totals?.line(totalLine(survey.total));
    if (logFile !== undefined) for (const line of logLines(log.rows())) logFile.line(line);
    for (const file of files) file.keep();
    const [first] = survey.runs;
    if (options.settingsOut !== undefined && first !== undefined) {
      writeWhole(options.settingsOut, `${JSON.stringify(first.settings, null, 2)}\n`);
    }
    return survey;
  } finally {
    for (const file of files) file.discard();
  }
}

/** The object of `journal --json`; names that stay. */
function journalObject(folder: string, { runs, days, total, tallies, troubles }: Survey): object {
  return {
    journal: folder,
    days: days.map(dayObject),
    totals: total === undefined ? null : totalObject(total),
    owed: tallies?.owed ?? null,
    remainder: tallies?.remainder ?? null,
    runs: runs.map((run) => ({
      run: run.run,
      start: new Date(run.startWallMs).toISOString(),
      end: run.endWallMs === undefined ? null : new Date(run.endWallMs).toISOString(),
      end_words: run.end ?? null,
      zone: run.zone,
      dark_s: run.darkMicros === undefined ? null : run.darkMicros / 1_000_000,
      meter: run.meter,
      pump: run.pump,
      settings: run.settings,
      version: run.version,
    })),
    not_whole: troubles,
  };
}

function refuseSame(options: Options): void {
  const { days, totals, log, trace, settingsOut } = options;
  const named = Object.entries({ days, totals, log, trace, "settings-out": settingsOut }).flatMap(
    ([name, file]) => (file === undefined ? [] : [{ name, file }]),
  );
  named.forEach(({ name, file }, at) => {
    const field = `--${name}`;
    if (file === "-")
      throw new InputError([{ field, fault: "is -", mend: "name a file; /dev/stdout is one too" }]);
    const other = named.slice(0, at).find((one) => one.file === file);
    if (other === undefined) return;
    throw new InputError([{ field, fault: `is the file of --${other.name}`, mend: "name two files" }]);
  });
}
