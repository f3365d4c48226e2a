/**
 * `tallystroke calibrate`: a drawdown test to millilitres per stroke, repeatability and linearity. Harness layer.
 */
import type Fraction from "fraction.js";
import { Command, Option } from "commander";
import {
  type DrawdownTrial,
  exact,
  type FigureName,
  FIGURES,
  type Flow,
  type Volume,
} from "../../lib/dosing/index.js";
import { openAsker, type AskerEnds } from "../calibrate/asker.js";
import { guidedTest } from "../calibrate/guided.js";
import { checkPlanFile, STILL_NEEDED, writePlanEntry } from "../calibrate/plan-entry.js";
import {
  type CalibrateReport,
  calibrateObject,
  calibrateReport,
  plannedVolume,
  statusOfReport,
} from "../calibrate/report.js";
import { readTrialRate } from "../calibrate/trial.js";
import { readTrials, refuseUnlessNew, trialsText, writeTrials } from "../calibrate/trials-file.js";
import { calibrateText } from "../calibrate/words.js";
import { InputError } from "../files/fault.js";
import { isRefused, QUANTITIES, type QuantityTerm, readQuantity, type Refused } from "../plan/terms.js";
import { many } from "../report/words.js";
import type { ExitStatus, Terminal } from "./terminal.js";

const EXAMPLES = `
Examples:
  tallystroke calibrate --graduation "1 mL" --trials TRIALS.csv
  tallystroke calibrate TRIALS.csv --graduation "1 mL" --plan-file PLAN.json
  tallystroke calibrate TRIALS.csv --judge all --spread half --json

Without a file it asks trial by trial, at a terminal or from a pipe. A file is
CSV: a header, then a row per trial in the order in which they were made:
  rate_per_min,strokes,volume_ml
  120,300,102
rate_per_min may be left out; volume_l, volume_floz or volume_gal may stand for
volume_ml. Repeatability needs a rate that is left and returned to, linearity
three rates. An outlier is pointed at and never dropped.
Exit status: 0 measured, with or without warnings; of the figures that --judge
names: 1 one is outside its limit, 3 one cannot be told; 2 bad input.`;

interface Options {
  readonly graduation?: string;
  readonly reading: string;
  readonly rated?: string;
  readonly spread: "full" | "half";
  readonly judge?: string;
  readonly at?: string;
  readonly strokeSetting?: string;
  readonly planFile?: string;
  readonly trials?: string;
  readonly json?: true;
}

type Ends = Omit<AskerEnds, "onInterruptKey">;

export function calibrateVerb(
  terminal: Terminal,
  finish: (status: ExitStatus) => void,
  ends: () => Ends = () => ({ input: process.stdin, output: process.stderr }),
): Command {
  return new Command("calibrate")
    .description("Turn a drawdown test into millilitres per stroke, and say how sure that is.")
    .argument("[file]", "trials as CSV, or - for standard input; without it you are asked")
    .option("--graduation <volume>", 'volume between two marks of the cylinder, e.g. "1 mL"')
    .option("--reading <percent>", "largest reading error of a trial that is long enough", "1 %")
    .option("--rated <flow>", 'rated capacity, e.g. "3 gal/day" (the highest mean capacity seen)')
    .addOption(
      new Option("--spread <spread>", "what is held against a limit of the standard, which is written ±")
        .choices(["full", "half"])
        .default("full"),
    )
    .option("--judge <figures>", `figures that must keep their limits: all, or some of ${FIGURES.join(",")}`)
    .option("--at <rate>", "plan with the trials at this stroke rate alone, strokes per minute")
    .option("--stroke-setting <percent>", "manual stroke setting in use, for the plan file")
    .option("--plan-file <file>", "put the measured stroke into a plan file, new or existing")
    .option("--trials <file>", "keep what is typed as CSV, trial by trial, in a new file")
    .option("--json", "one object for machines instead of the text")
    .addHelpText("after", EXAMPLES)
    .action(async (file: string | undefined, options: Options) => {
      const terms = termsOf(file, options);
      const asked =
        file === undefined ? await askedTrials(terminal, terms.graduation, options, ends()) : undefined;
      if (asked?.isWhole === false) {
        finish(2);
        return;
      }
      const trials = asked?.trials ?? (await readTrials(file ?? "-"));
      const graduation = asked?.graduation ?? terms.graduation;
      const report = calibrateReport({ ...terms, trials, graduation }, terms);
      if (report === undefined) {
        const rates = [...new Set(trials.flatMap(({ ratePerMinute }) => ratePerMinute?.toString() ?? []))];
        const mend = rates.length === 0 ? "note the rates of the trials" : `use one of ${rates.join(", ")}`;
        throw new InputError([{ field: "--at", fault: "is a rate without trials", mend }]);
      }
      await tell(terminal, report, options);
      finish(statusOfReport(report));
    });
}

async function tell(terminal: Terminal, report: CalibrateReport, options: Options): Promise<void> {
  const { planFile, strokeSetting, json } = options;
  if (planFile !== undefined) {
    const wasThere = writePlanEntry(planFile, { volume: plannedVolume(report), strokeSetting });
    terminal.talk(
      wasThere
        ? `${planFile} now has the measured stroke: tallystroke plan --from ${planFile}\n`
        : `${planFile} has the measured stroke. Add ${STILL_NEEDED}:\n  tallystroke plan --from ${planFile} …\n`,
    );
  }
  await terminal.result(
    json === true ? `${JSON.stringify(calibrateObject(report), null, 2)}\n` : `${calibrateText(report)}\n`,
  );
}

interface Asked {
  readonly trials: readonly DrawdownTrial[];
  readonly graduation: Volume | undefined;
  /** False where the test broke off in the middle of a trial, before the first, or on purpose. */
  readonly isWhole: boolean;
}

/** Asks at the terminal; whatever happens, says what there is of the test. */
async function askedTrials(
  terminal: Terminal,
  graduation: Volume | undefined,
  { trials: kept }: Options,
  ends: Ends,
): Promise<Asked> {
  // On a terminal Ctrl-C comes as a key; what it does is the same as for the signal.
  const asker = openAsker({ ...ends, onInterruptKey: () => process.kill(process.pid, "SIGINT") });
  let typed: readonly DrawdownTrial[] = [];
  const release = terminal.onInterrupt?.(() => {
    asker.cancel();
  });
  try {
    const test = await guidedTest({
      asker,
      talk: (text) => {
        terminal.talk(text);
      },
      graduation,
      onTrials: (trials) => {
        typed = trials;
        if (kept !== undefined) writeTrials(kept, trials);
      },
    });
    const isWhole = test.trials.length > 0 && test.half === undefined && test.end !== "cancelled";
    if (!isWhole) terminal.talk(brokenOff(test.trials, test.half, kept));
    return { ...test, isWhole };
  } catch (error) {
    // The file could be made when the test began, and cannot be written now.
    terminal.talk(brokenOff(typed, undefined, undefined));
    throw error;
  } finally {
    release?.();
    asker.cancel();
  }
}

function brokenOff(
  trials: readonly DrawdownTrial[],
  half: string | undefined,
  kept: string | undefined,
): string {
  const rest = half === undefined ? "" : `Of one more trial there was only: ${half}.\n`;
  if (trials.length === 0) return `Ended without a whole trial. ${rest}`.trimEnd() + "\n";
  const have = `Ended after ${many(trials.length, "whole trial")}. ${rest}`;
  if (kept !== undefined) return `${have.trimEnd()}\nThey are in ${kept}: tallystroke calibrate ${kept}\n`;
  return `${have.trimEnd()}\nTo judge them, keep these lines in a file and give it to calibrate:\n${trialsText(trials)}`;
}

interface Terms {
  readonly graduation: Volume | undefined;
  readonly readingShare: Fraction;
  readonly rated: Flow | undefined;
  readonly spread: "full" | "half";
  readonly judged: readonly FigureName[];
  readonly at: Fraction | undefined;
}

const GRADUATION = {
  name: "graduation",
  kind: "volume",
  about: "volume between two marks of the cylinder",
  example: "1 mL",
  from: "0.001 mL",
  to: "10 L",
} as const satisfies QuantityTerm;
const RATED = QUANTITIES.find(({ name }) => name === "pump-rate") as QuantityTerm & { kind: "flow" };

/** The options, all looked at before anything is refused, asked or written. */
function termsOf(file: string | undefined, options: Options): Terms {
  const faults: InputError["faults"][number][] = [];
  const take = <T extends object>(
    field: string,
    text: string | undefined,
    read: (text: string) => T | Refused,
  ) => {
    const value = text === undefined ? undefined : read(text);
    if (value === undefined || !isRefused(value)) return value;
    faults.push({ field, ...value });
    return undefined;
  };
  const terms = {
    graduation: take("--graduation", options.graduation, (text) => readQuantity(GRADUATION, text)),
    readingShare: take("--reading", options.reading, (text) => percentOf(text, 50)) ?? exact(1),
    rated: take("--rated", options.rated, (text) => readQuantity(RATED, text)),
    spread: options.spread,
    judged: take("--judge", options.judge, figuresOf) ?? [],
    at: take("--at", options.at, readTrialRate),
  };
  take("--stroke-setting", options.strokeSetting, (text) => percentOf(text, 100));
  if (file !== undefined && options.trials !== undefined) {
    faults.push({
      field: "--trials",
      fault: "stands beside a file of trials",
      mend: "leave one of them out",
    });
  }
  if (faults.length > 0) throw new InputError(faults);
  if (options.trials !== undefined) refuseUnlessNew(options.trials, "--trials");
  if (options.planFile !== undefined) checkPlanFile(options.planFile);
  return terms;
}

/** A percentage, as a share. */
function percentOf(text: string, most: number): Fraction | Refused {
  const [, number] = /^(\d{1,3}(?:\.\d{1,6})?)\s*%?$/.exec(text.trim()) ?? [];
  const percent = exact(number ?? "0");
  if (percent.gt(0) && percent.lte(most)) return percent.div(100);
  return {
    fault: `is "${text.trim().slice(0, 40)}"`,
    mend: `write percent, above 0 to ${most}, such as "1 %"`,
  };
}

function figuresOf(text: string): readonly FigureName[] | Refused {
  const names = text.split(",").map((name) => name.trim());
  if (names.length === 1 && names[0] === "all") return FIGURES;
  const known = FIGURES.filter((name) => names.includes(name));
  if (names.every((name) => (FIGURES as readonly string[]).includes(name))) return known;
  return { fault: `is "${text.slice(0, 60)}"`, mend: `write all, or some of ${FIGURES.join(",")}` };
}
