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
  ["SIGHUP", 1],
  ["SIGINT", 2],
  ["SIGTERM", 15],
] as const) {
  process.on(signal, () => {
    const heard = terminal.interrupt();
    // A verb that drives a device leaves it idle first.
    if (heard !== "asked") signalled = 128 + number;
    if (heard === "nobody") process.exit(signalled);
  });
}

const status = await runCommand(process.argv.slice(2), terminal);
process.exit(signalled === 0 ? status : signalled);
