/**
 * Does the commissioning sheet hold the plan's numbers and every check, with boxes to tick and lines to write on?
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { sheetHtml, sheetMarkdown } from "../../harness/plan/sheet-text.js";
import { folder } from "./kit.js";
import { argsOf, runPlan, SOUND, type Terms } from "./plan-kit.js";

async function sheet(name: string, terms: Terms): Promise<string> {
  const file = join(folder(), name);
  await runPlan(argsOf({ ...SOUND, ...terms, sheet: file }));
  return readFileSync(file, "utf8");
}

// What must be seen to before water is dosed.
const CHECKS = [
  /dry contact is wired to the controller's signal and common/,
  /foot valve with a weight.+clear of the bottom/,
  /Check valves .+ towards the water only/,
  /injection point/,
  /bleed line runs back into the solution tank/,
  /manual stroke stands at full/,
  /Primed/,
  /No joint leaks/,
  /flow permission taken away, no stroke/,
  /residual measured at the first tap/,
];
const NUMBERS = [
  "28:11",
  "37.85 L (10 gal)",
  "0.34 mL (0.0115 fl oz)",
  "1.2 mg/L",
  "wanted 0.5 mg/L",
  "34 mL",
];

test.each([
  { name: "sheet.md", box: /^- \[ \] /gm, line: /_{10,}/g },
  { name: "sheet.html", box: /<span class="box"/g, line: /<span class="line">/g },
])(
  "$name has the plan's numbers, every check with a box, and lines to write on",
  async ({ name, box, line }) => {
    const text = await sheet(name, { dose: undefined, demand: "0.7 mg/L", residual: "0.5 mg/L" });
    expect(CHECKS.filter((check) => !check.test(text))).toEqual([]);
    expect(NUMBERS.filter((number) => !text.includes(number))).toEqual([]);
    expect(text.match(box)?.length).toBeGreaterThanOrEqual(CHECKS.length);
    expect(text.match(line)?.length).toBeGreaterThanOrEqual(15);
  },
);

test("the HTML stands alone: no script, nothing fetched, a title, a language", async () => {
  const text = await sheet("alone.html", {});
  expect(text).not.toMatch(/<script|https?:|url\(/);
  expect(text).toMatch(/^<!doctype html>\n<html lang="en">/);
  expect(text).toContain("<title>Commissioning sheet");
});

test("the sheet of a refused plan says so", async () => {
  expect(await sheet("refused.md", { peak: "600 gal/min" })).toContain(
    "REFUSED: the pump cannot follow peak flow",
  );
});

test("signs that mean something to Markdown or HTML are written so that they do not", () => {
  const odd = { title: "a < b & c * d | e", parts: [{ title: "t", facts: [["n", "<b>|</b>"]] as const }] };
  expect(sheetMarkdown(odd)).toBe(
    "# a \\< b & c \\* d \\| e\n\n## t\n\n| | |\n|---|---|\n| n | \\<b\\>\\|\\</b\\> |\n",
  );
  expect(sheetHtml(odd)).toContain("<h1>a &lt; b &amp; c * d | e</h1>");
  expect(sheetHtml(odd)).toContain("<td>&lt;b&gt;|&lt;/b&gt;</td>");
});
