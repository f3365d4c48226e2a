/**
 * Does a measured stroke get into a plan file without harm to the rest of it?
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { writePlanEntry } from "../../harness/calibrate/plan-entry.js";
import { InputError } from "../../harness/files/fault.js";
import { quantity } from "../../lib/dosing/index.js";
import { folder } from "../cli/kit.js";

const volume = quantity("volume", "0.342", "mL");
const entry = { volume, strokeSetting: undefined };

test("a new file has the stroke, measured", () => {
  const file = join(folder(), "plan.json");
  expect(writePlanEntry(file, entry)).toBe(false);
  expect(readFileSync(file, "utf8")).toBe('{\n  "stroke-volume": "0.342 mL",\n  "measured": true\n}\n');
});

test("a plan that is there keeps its other lines as they are, in place and spacing", () => {
  const before = '{\n    "contact-volume":  "10 gal",\n    "stroke-volume": "0.5 mL",\n    "cap": 120\n}\n';
  const file = join(folder({ "plan.json": before }), "plan.json");
  expect(writePlanEntry(file, entry)).toBe(true);
  expect(readFileSync(file, "utf8")).toBe(
    '{\n    "contact-volume":  "10 gal",\n    "stroke-volume": "0.342 mL",\n    "cap": 120,\n    "measured": true\n}\n',
  );
});

test("a rated output gives way to the measured stroke, and the stroke setting goes with it", () => {
  const file = join(folder({ "plan.json": '{ "pump-rate": "3 gal/day", "cap": 120 }' }), "plan.json");
  writePlanEntry(file, { volume, strokeSetting: "80 %" });
  expect(JSON.parse(readFileSync(file, "utf8"))).toEqual({
    cap: 120,
    "stroke-volume": "0.342 mL",
    measured: true,
    "stroke-setting": "80 %",
  });
});

test.each([
  ["is no plan", '{ "strokes": 3 }'],
  ["is not JSON", "strokes,volume_ml\n1,2\n"],
])("a file that %s is left alone", (_, text) => {
  const file = join(folder({ "plan.json": text }), "plan.json");
  expect(() => writePlanEntry(file, entry)).toThrow(InputError);
  expect(readFileSync(file, "utf8")).toBe(text);
});
