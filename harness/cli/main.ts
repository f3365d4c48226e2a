#!/usr/bin/env node
/**
 * The process of the command `tallystroke`. Harness layer: the one place that ends it.
 */
import { runCommand } from "./command.js";
import { processTerminal } from "./terminal.js";

const terminal = processTerminal();
let signalled = 0;

// Unfinished files are taken back when the process exits; a signal alone would leave them.
for (const [signal, number] of [
  ["SIGINT", 2],
  ["SIGTERM", 15],
] as const) {
  process.on(signal, () => {
    signalled = 128 + number;
    // A verb that drives a device leaves it idle first.
    if (!terminal.interrupt()) process.exit(signalled);
  });
}

const status = await runCommand(process.argv.slice(2), terminal);
process.exit(signalled === 0 ? status : signalled);
