/**
 * Runs `tallystroke plan` as the program does, in this process, and keeps what it says.
 */
import { Command, CommanderError } from "commander";
import { planCommand } from "../../harness/cli/plan.js";
import { InputError } from "../../harness/files/fault.js";

export interface Ran {
  readonly status: number;
  readonly out: string;
  readonly talk: string;
}

/** Terms of a plan by name; one that is undefined is left out. */
export interface Terms {
  readonly [name: string]: string | undefined;
}

/** A plan that is sound and can be met: 10 gal contacts, 5.25 % solution, 0.34 mL strokes. */
export const SOUND = {
  "contact-volume": "10 gal",
  dose: "1.2 mg/L",
  strength: "5.25 %",
  "stroke-volume": "0.34 mL",
  cap: "120",
  peak: "15 gal/min",
};

export function argsOf(terms: Terms): string[] {
  return Object.entries(terms).flatMap(([name, text]) => (text === undefined ? [] : [`--${name}=${text}`]));
}

export async function runPlan(args: readonly string[]): Promise<Ran> {
  let status = 0;
  let out = "";
  let talk = "";
  const terminal = {
    result: (text: string): Promise<void> => {
      out += text;
      return Promise.resolve();
    },
    talk: (text: string): void => {
      talk += text;
    },
  };
  const program = new Command("tallystroke").exitOverride().configureOutput({
    writeOut: (text) => {
      out += text;
    },
    writeErr: terminal.talk,
  });
  const finish = (ended: number): void => {
    status = ended;
  };
  program.addCommand(planCommand(terminal, finish).copyInheritedSettings(program));
  try {
    await program.parseAsync(["plan", ...args], { from: "user" });
  } catch (error) {
    if (error instanceof InputError) return { status: 2, out, talk: `${talk}${error.message}\n` };
    if (error instanceof CommanderError) return { status: error.exitCode === 0 ? 0 : 2, out, talk };
    throw error;
  }
  return { status, out, talk };
}
