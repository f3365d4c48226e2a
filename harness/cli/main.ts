#!/usr/bin/env node
/**
 * The process of the command `tallystroke`. Harness layer: the one place that ends it.
 */
import { runCommand } from "./command.js";
import { processTerminal } from "./terminal.js";

// Unfinished files are taken back when the process exits; a signal alone would leave them.
for (const [signal, number] of [
  ["SIGINT", 2],
  ["SIGTERM", 15],
] as const) {
  process.once(signal, () => process.exit(128 + number));
}

process.exit(await runCommand(process.argv.slice(2), processTerminal()));
