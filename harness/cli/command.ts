/**
 * What does the command understand? Its verbs, and the exit status of each way to end. Harness layer.
 */
import { Command, CommanderError } from "commander";
import { InputError } from "../files/fault.js";
import { packageVersion } from "../files/package-root.js";
import { calibrateVerb } from "./calibrate.js";
import { demoVerb } from "./demo.js";
import { driveVerb } from "./drive.js";
import { journalVerb } from "./journal.js";
import { planVerb } from "./plan.js";
import { portsVerb } from "./ports.js";
import { simulateVerb } from "./simulate-verb.js";
import type { ExitStatus, Terminal } from "./terminal.js";
import { verifyVerb } from "./verify.js";

const EXAMPLES = `
Examples:
  tallystroke plan --contact-volume "10 gal" --dose "1.2 mg/L" \\
    --strength "5.25 %" --stroke-volume "0.34 mL" --cap 120 --peak "15 gal/min"
  tallystroke simulate LOG.csv --ratio 2:1 --cap 120`;

/** Runs one command line, without the program's own name. Never throws for what a user can mend. */
export async function runCommand(args: readonly string[], terminal: Terminal): Promise<ExitStatus> {
  let status: ExitStatus = 0;
  let help = "";
  const program = new Command("tallystroke")
    .description("Paces a metering pump from a water meter's contacts, and proves that the laws are kept.")
    .version(packageVersion())
    .exitOverride()
    // The longest name of an option leaves 39 of 80 columns; by default text in fewer than 40 is not wrapped.
    .configureHelp({ minWidthToWrap: 15 })
    .configureOutput({
      writeOut: (text) => {
        help += text;
      },
      writeErr: (text) => {
        terminal.talk(text);
      },
    })
    .showHelpAfterError("(add --help for help)")
    .addHelpText("after", EXAMPLES)
    .addHelpText(
      "after",
      "\nExit status: 0 done, 1 a law is broken or a plan cannot be met, 2 bad usage or\nbad input, 3 a device failed or a verdict is cannot tell.",
    );
  const finish = (ended: ExitStatus): void => {
    status = ended;
  };
  for (const verb of [
    planVerb,
    simulateVerb,
    verifyVerb,
    driveVerb,
    journalVerb,
    calibrateVerb,
    portsVerb,
    demoVerb,
  ]) {
    program.addCommand(verb(terminal, finish).copyInheritedSettings(program));
  }
  try {
    await program.parseAsync(args, { from: "user" });
  } catch (error) {
    if (error instanceof InputError) {
      terminal.talk(`${error.message}\n`);
      return 2;
    }
    if (!(error instanceof CommanderError)) throw error;
    if (error.exitCode !== 0 || help === "") return 2;
  }
  try {
    if (help !== "") await terminal.result(help);
  } catch (error) {
    if (error instanceof InputError) return 2;
    throw error;
  }
  return status;
}
