#!/usr/bin/env node
/**
 * The process of the command `tallystroke`. Harness layer: the one place that ends it.
 */
import { closeSync } from "node:fs";
import { isatty } from "node:tty";
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

// Node puts its terminal's modes back as it exits and aborts where that terminal has gone; what is closed it leaves be.
const terminals = [0, 1, 2].filter((descriptor) => isatty(descriptor));
process.on("exit", () => {
  for (const descriptor of terminals) if (!isatty(descriptor)) closeSync(descriptor);
});

const status = await runCommand(process.argv.slice(2), terminal);
process.exit(signalled === 0 ? status : signalled);
