/**
 * `tallystroke plan`: from meter, dose, solution, pump and flows to a ratio, with its working. Harness layer.
 */
import { writeFileSync } from "node:fs";
import { extname } from "node:path";
import { Command, Option } from "commander";
import { planFeed } from "../../lib/dosing/index.js";
import { fileFault, InputError } from "../files/fault.js";
import { type PlanFile, readPlanFile } from "../plan/plan-file.js";
import { planObject, reportOf } from "../plan/report.js";
import { planInputOf } from "../plan/request.js";
import { settingsOfPlan } from "../plan/settings.js";
import { sheetOf } from "../plan/sheet.js";
import { SHEET_FORMATS } from "../plan/sheet-text.js";
import { OTHERS, QUANTITIES, type TermName } from "../plan/terms.js";
import { planText } from "../plan/words.js";
import type { ExitStatus, Terminal } from "./terminal.js";

const EXAMPLES = `
Examples:
  tallystroke plan --contact-volume "10 gal" --demand "0.7 mg/L" \\
    --residual "0.5 mg/L" --strength "5.25 %" --stroke-volume "0.34 mL" \\
    --cap 120 --peak "15 gal/min"
  tallystroke plan --from PLAN.json --explain --sheet SHEET.html
  tallystroke plan --from PLAN.json --settings-out SETTINGS.json

Units: US gallons; metric and US customary may be mixed. Percent is weight by
volume as available chlorine; "5 % w/w" needs --specific-gravity; "5 % NaOCl" is
counted as Cl2.
Exit status: 0 planned, with or without warnings; 1 the plan cannot be met or
may not be used as it is; 2 bad input.`;

const NEEDED = new Set(["contact-volume", "dose", "strength", "stroke-volume", "cap", "peak"]);
const NEEDED_GROUP = "Needed (or demand and residual for the dose, pump rate for the stroke):";
const KNOWN_GROUP = "As far as it is known:";

interface Options {
  readonly from?: string;
  readonly measured?: true;
  readonly explain?: true;
  readonly json?: true;
  readonly settingsOut?: string;
  readonly sheet?: string;
}

export function planVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  const command = new Command("plan").description("Work out the ratio for a dose, and show the working.");
  const terms = [...QUANTITIES.map((term) => ({ ...term, value: "quantity" })), ...OTHERS];
  const isNeeded = ({ name }: { readonly name: string }): boolean => NEEDED.has(name);
  for (const term of [...terms.filter(isNeeded), ...terms.filter((term) => !isNeeded(term))]) {
    const { name, value, about, example } = term;
    const group = isNeeded(term) ? NEEDED_GROUP : KNOWN_GROUP;
    command.addOption(new Option(`--${name} <${value}>`, `${about}, e.g. "${example}"`).helpGroup(group));
  }
  command
    .addOption(
      new Option(
        "--measured",
        "the stroke volume was measured by a drawdown at the setting in use",
      ).helpGroup(KNOWN_GROUP),
    )
    .option("--from <file>", "a plan file: JSON with the same names; options override it")
    .option("--explain", "show each step: formula, numbers with units, result")
    .option("--json", "one object for machines instead of the text")
    .option("--settings-out <file>", "write the settings, for simulate --settings")
    .option("--sheet <file>", "write a commissioning sheet, .md or .html")
    .addHelpText("after", EXAMPLES);
  return command.action(async (options: Options) => {
    const sheetFormat = sheetFormatOf(options.sheet);
    const report = reportOf(planFeed(planInputOf(writtenOf(command, options))));
    if (options.sheet !== undefined && sheetFormat) writeText(options.sheet, sheetFormat(sheetOf(report)));
    if (options.settingsOut !== undefined && report.met) {
      writeText(options.settingsOut, `${JSON.stringify(settingsOfPlan(report.plan), null, 2)}\n`);
    }
    if (options.settingsOut !== undefined && !report.met) {
      terminal.talk(
        `${options.settingsOut} is not written: the plan is refused, so there is nothing to set.\n`,
      );
    }
    await terminal.result(
      options.json === true
        ? `${JSON.stringify(planObject(report), null, 2)}\n`
        : `${planText(report, options.explain === true)}\n`,
    );
    finish(report.met ? 0 : 1);
  });
}

/** Options over the plan file. */
function writtenOf(command: Command, { from, measured }: Options): Parameters<typeof planInputOf>[0] {
  const file: PlanFile | undefined = from === undefined ? undefined : readPlanFile(from);
  const texts = new Map(file?.texts);
  const lines = new Map(file?.lines);
  for (const { name } of [...QUANTITIES, ...OTHERS]) {
    const option = command.options.find(({ long }) => long === `--${name}`);
    const text = option && (command.getOptionValue(option.attributeName()) as string | undefined);
    if (text === undefined) continue;
    for (const other of standsInFor(name, texts)) if (lines.delete(other)) texts.delete(other);
    texts.set(name, text);
    lines.delete(name);
  }
  return { texts, lines, file: from, measured: measured === true || file?.measured === true };
}

/** What an option takes the place of in a plan file, besides the term of its own name. */
function standsInFor(name: TermName, texts: ReadonlyMap<TermName, string>): readonly TermName[] {
  if (name === "stroke-volume") return ["pump-rate"];
  if (name === "pump-rate") return ["stroke-volume"];
  // Of dose, demand and residual two give the third.
  if (name === "dose" && texts.has("demand")) return ["residual"];
  return name === "residual" && texts.has("demand") ? ["dose"] : [];
}

function sheetFormatOf(file: string | undefined): (typeof SHEET_FORMATS)[string] | undefined {
  if (file === undefined) return undefined;
  const format = SHEET_FORMATS[extname(file).toLowerCase()];
  if (format !== undefined) return format;
  const mend = `name a file that ends in ${Object.keys(SHEET_FORMATS).join(", ")}`;
  throw new InputError([{ field: "--sheet", fault: `"${file}" has no known ending`, mend }]);
}

function writeText(file: string, text: string): void {
  try {
    writeFileSync(file, text);
  } catch (error) {
    throw new InputError([fileFault(file, error, "written")]);
  }
}
