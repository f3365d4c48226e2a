/**
 * `tallystroke simulate`: a recorded or generated stimulus through the pacer in virtual time. Harness layer.
 */
import { Command } from "commander";
import { reportObject } from "../report/json.js";
import { summaryOf } from "../report/summary.js";
import { addSettingsOptions, settingsOf } from "./settings-options.js";
import { simulate, statusOf } from "./simulate.js";
import type { ExitStatus, Terminal } from "./terminal.js";

const EXAMPLES = `
Examples:
  tallystroke simulate LOG.csv --ratio 2:1 --cap 120
  tallystroke simulate LOG.csv --ratio 3:2 --cap 60 --guard "900/h" \\
    --strokes OUT.csv
  tallystroke simulate - --settings SETTINGS.json --json < LOG.csv

A log is CSV: a header time_s or time_s,event, then one row per event; time_s in
seconds from the start, event one of contact (the default), close, open,
prime-on, prime-off, hold-on, hold-off, inhibit-on, inhibit-off, reset. Lines
that start with # are comments. A trace that --trace wrote is a log too.`;

interface Options {
  readonly strokes?: string;
  readonly trace?: string;
  readonly json?: true;
}

export function simulateVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  const command = new Command("simulate")
    .description("Run a recorded log through the pacer and judge the laws.")
    .argument("<file>", "the log, or - for standard input")
    .option("--strokes <file>", "write every stroke, as time_s,cause")
    .option("--trace <file>", "write all that went in and came out")
    .option("--json", "one object for machines instead of the summary")
    .addHelpText("after", EXAMPLES);
  return addSettingsOptions(command).action(async (file: string, options: Options) => {
    const report = await simulate({
      file,
      settings: settingsOf(command),
      strokes: options.strokes,
      trace: options.trace,
      quiet: options.json === true,
    });
    await terminal.result(
      options.json === true ? `${JSON.stringify(reportObject(report), null, 2)}\n` : `${summaryOf(report)}\n`,
    );
    finish(statusOf(report));
  });
}
