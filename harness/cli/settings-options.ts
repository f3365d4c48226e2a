/**
 * How are settings given on the command line? One option for each term, and a file. Harness layer.
 */
import { type Command, Option } from "commander";
import type { Settings } from "../../lib/pacing/index.js";
import { settingsFrom, type Written } from "../files/settings.js";
import { readSettingsFile } from "../files/settings-file.js";
import { TERMS } from "../files/terms.js";

/** Adds the options; every verb that takes settings takes these. */
export function addSettingsOptions(command: Command): Command {
  for (const { name, value, about } of TERMS) {
    command.addOption(new Option(`--${name} <${value}>`, about).helpGroup("Settings:"));
  }
  return command.addOption(
    new Option("--settings <file>", "JSON with the same names; options override it").helpGroup("Settings:"),
  );
}

/** What the options and the file say together. Throws an InputError with every fault. */
export function settingsOf(command: Command): Settings {
  return settingsFrom(writtenSettings(command));
}

/** What was written, each option over the file. Throws an InputError for a file that cannot be read. */
export function writtenSettings(command: Command): Map<string, Written> {
  const file = command.getOptionValue("settings") as string | undefined;
  const written = file === undefined ? new Map<string, Written>() : readSettingsFile(file);
  for (const option of command.options) {
    const name = option.long?.slice(2) ?? "";
    const text = command.getOptionValue(option.attributeName()) as string | undefined;
    if (text !== undefined && TERMS.some((term) => term.name === name)) written.set(name, { text });
  }
  return written;
}
