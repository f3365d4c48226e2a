/**
 * `tallystroke demo`: what `npm start` shows. `simulate` on the log that is shipped, with words around it. Harness layer.
 */
import { Command } from "commander";
import { relative } from "node:path";
import { shipped } from "../files/package-root.js";
import { settingsFrom } from "../files/settings.js";
import { summaryOf } from "../report/summary.js";
import { wrapped } from "../report/words.js";
import { DEMO_FILE, DEMO_SETTINGS } from "../stimuli/creamery.js";
import { simulate, statusOf } from "./simulate.js";
import type { ExitStatus, Terminal } from "./terminal.js";

export function demoVerb(terminal: Terminal, finish: (status: ExitStatus) => void): Command {
  return new Command("demo")
    .description("Simulate the invented day that is shipped with the command.")
    .addHelpText("after", "\nExample:\n  tallystroke demo")
    .action(async () => {
      const path = shipped(DEMO_FILE);
      const written = new Map(Object.entries(DEMO_SETTINGS).map(([name, text]) => [name, { text }]));
      const report = await simulate({ file: path, settings: settingsFrom(written), quiet: true });
      const log = relative(process.cwd(), path) || path;
      const named = { ...report, source: log };
      await terminal.result(`${introduction()}\n\n${summaryOf(named)}\n\n${nextSteps(log)}\n`);
      finish(statusOf(report));
    });
}

function introduction(): string {
  return wrapped(
    "This day is invented: a farm creamery on its own well, one contact per 5 L. Taps and wash-down through the " +
      "day, a tank filled at noon faster than the pump can follow, a pump primed at six, a quiet night. It is the " +
      "log below, run through the pacer in virtual time.",
  );
}

function nextSteps(log: string): string {
  const options = Object.entries(DEMO_SETTINGS)
    .map(([name, text]) => `--${name} ${/[ ]/.test(text) ? `"${text}"` : text}`)
    .join(" ");
  const command = `npx tallystroke simulate ${log}`;
  return [
    "Try next",
    "  The same run, by its own command:",
    `    ${command} \\\n      ${options}`,
    "  A higher cap, so that the tank is fed in full; and every stroke in a file:",
    `    ${command} \\\n      --ratio ${DEMO_SETTINGS.ratio} --cap 160 --strokes strokes.csv`,
    "  Your own log: a header line time_s, then the time of each contact in seconds:",
    "    (echo time_s; seq 0 2.5 60) | npx tallystroke simulate - \\\n      --ratio 2:1 --cap 120",
    "  All options:",
    "    npx tallystroke simulate --help",
  ].join("\n");
}
