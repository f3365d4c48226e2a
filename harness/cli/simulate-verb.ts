/**
 * `tallystroke simulate`: a recorded or generated stimulus through the pacer in virtual time. Harness layer.
 */
import { Command } from "commander";
import { type Plan, planFeed } from "../../lib/dosing/index.js";
import { InputError } from "../files/fault.js";
import { readPlanFile } from "../plan/plan-file.js";
import { planInputOf } from "../plan/request.js";
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
  tallystroke simulate LOG.csv --ratio 3:2 --cap 60 --report REPORT.html \\
    --plan PLAN.json
  tallystroke simulate - --settings SETTINGS.json --json < LOG.csv

A log is CSV: a header time_s or time_s,event, then one row per event; time_s in
seconds from the start, event one of contact (the default), close, open,
prime-on, prime-off, hold-on, hold-off, inhibit-on, inhibit-off, reset. Lines
that start with # are comments. A trace that --trace wrote is a log too.`;

interface Options {
  readonly strokes?: string;
  readonly trace?: string;
  readonly report?: string;
  readonly figures?: string;
  readonly plan?: string;
  readonly json?: true;
}

export function simulateVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  const command = new Command("simulate")
    .description("Run a recorded log through the pacer and judge the laws.")
    .argument("<file>", "the log, or - for standard input")
    .option("--strokes <file>", "write every stroke, as time_s,cause")
    .option("--trace <file>", "write all that went in and came out")
    .option("--report <file>", "write a report to look at: one HTML file that needs no network")
    .option("--figures <folder>", "write each drawing of the report, as SVG and PNG")
    .option("--plan <file>", "a plan file: what the water is, for the report's downstream part")
    .option("--json", "one object for machines instead of the summary")
    .addHelpText("after", EXAMPLES);
  return addSettingsOptions(command).action(async (file: string, options: Options) => {
    const report = await simulate({
      file,
      settings: settingsOf(command),
      strokes: options.strokes,
      trace: options.trace,
      drawn: { report: options.report, figures: options.figures, plan: planOf(options) },
      quiet: options.json === true,
    });
    await terminal.result(
      options.json === true ? `${JSON.stringify(reportObject(report), null, 2)}\n` : `${summaryOf(report)}\n`,
    );
    finish(statusOf(report));
  });
}

/** The plan is only drawn from: the settings stay those of the options. */
function planOf({ plan, report, figures }: Options): Plan | undefined {
  if (plan === undefined) return undefined;
  if (report === undefined && figures === undefined) {
    throw new InputError([
      { field: "--plan", fault: "has nothing to be drawn in", mend: "give --report or --figures too" },
    ]);
  }
  return planFeed(planInputOf({ ...readPlanFile(plan), file: plan }));
}
