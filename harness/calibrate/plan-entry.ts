/**
 * How does a measured stroke get into a plan file? Harness layer.
 *
 * A plan that is there keeps all it says but the stroke; a new one has the stroke alone, and whoever plans adds the rest.
 */
import { existsSync, readFileSync } from "node:fs";
import { applyEdits, modify } from "jsonc-parser";
import { exactIn, type Volume } from "../../lib/dosing/index.js";
import { writeWhole } from "../files/whole-file.js";
import { readPlanFile } from "../plan/plan-file.js";

export interface MeasuredStroke {
  readonly volume: Volume;
  /** Manual stroke setting in use, as it was given. */
  readonly strokeSetting: string | undefined;
}

/** What must stand beside the stroke before `plan` can answer. */
export const STILL_NEEDED =
  "--contact-volume, --dose (or --demand and --residual), --strength, --cap and --peak";

/** Refuses what is there and is no plan file; throws an InputError. */
export function checkPlanFile(path: string): void {
  if (existsSync(path)) readPlanFile(path);
}

/** Writes the stroke; true if the file was there. Throws an InputError where it cannot. */
export function writePlanEntry(path: string, { volume, strokeSetting }: MeasuredStroke): boolean {
  const isThere = existsSync(path);
  if (isThere) readPlanFile(path);
  const entries: readonly (readonly [name: string, value: unknown])[] = [
    ["pump-rate", undefined],
    ["stroke-volume", `${exactIn(volume, "mL").toString()} mL`],
    ["measured", true],
    ...(strokeSetting === undefined ? [] : [["stroke-setting", strokeSetting] as const]),
  ];
  let text = isThere ? readFileSync(path, "utf8") : "{}\n";
  for (const [name, value] of entries) {
    const formattingOptions = { insertSpaces: true, tabSize: 2 };
    text = applyEdits(text, modify(text, [name], value, { formattingOptions }));
  }
  writeWhole(path, text.endsWith("\n") ? text : `${text}\n`);
  return isThere;
}
