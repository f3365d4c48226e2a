/**
 * Does the report of a verification put first what must be known, and leave nothing out?
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { openVerifyReport } from "../../harness/report/html/open.js";
import { verifyReportOf } from "../../harness/report/html/verify-page.js";
import { folder } from "../cli/kit.js";
import { verifyInput } from "./kit.js";

const headline = (html: string): string => /<h1>(.*?)<\/h1>/.exec(html)?.[1] ?? "";

describe("a report of a verification", () => {
  test("tells a broken law first, where it broke, and its smallest case before all else", () => {
    const { html } = verifyReportOf(verifyInput(), "");
    expect(headline(html)).toBe("One law was broken: cap");
    expect(html).toMatch(/Law 3, cap, broke in steady flow at 00:00:01\.300: /);
    const order = ["counterexample-1", "laws", "timeline", "played", "ran", "mind", "numbers"];
    const places = order.map((id) => html.indexOf(`<section id="${id}"`));
    expect(places.every((place, i) => place > (places[i - 1] ?? 0))).toBe(true);
  });

  test("names device, seed, tolerance, what was played and what was left out", () => {
    const { html } = verifyReportOf(verifyInput(), "");
    for (const text of [
      "mock, a controller made",
      ">7<",
      "1 ms",
      "steady flow",
      "power cuts",
      "cannot be switched off",
    ]) {
      expect(html).toContain(text);
    }
  });

  test.each([
    ["what held and what was not seen", "holds", [], /^\w+ laws held; not seen: bounce$/],
    ["a device that failed", "holds", ["no answer"], /^The device failed/],
    ["a law that is open", "cannot tell", [], /^No law was broken, but one cannot be told: cap$/],
  ] as const)("of %s is no plain pass", (_, cap, faults, expected) => {
    const input = verifyInput();
    const laws = input.laws.map((law) => {
      if (law.law === "bounce") return law;
      return { ...law, answer: law.law === "cap" ? cap : ("holds" as const) };
    });
    expect(headline(verifyReportOf({ ...input, laws, faults, counterexamples: [] }, "").html)).toMatch(
      expected,
    );
  });

  test("is whole without a run to draw", () => {
    const { html, figures } = verifyReportOf({ ...verifyInput(), run: undefined }, "");
    expect(html).not.toContain('id="timeline"');
    expect(figures.map(({ id }) => id)).toEqual(["counterexample-1", "laws"]);
  });

  test("takes its place, with its drawings, only when it is complete", async () => {
    const at = folder();
    const opened = openVerifyReport({ report: join(at, "r.html"), figures: join(at, "figures") });
    expect(readdirSync(at)).not.toContain("r.html");
    await opened?.draw(verifyInput());
    opened?.keep();
    opened?.discard();
    expect(readdirSync(at)).toEqual(["figures", "r.html"]);
    expect(readFileSync(join(at, "r.html"), "utf8")).toMatch(/^<!doctype html>\n<html/);
    expect(readdirSync(join(at, "figures"))).toContain("counterexample-1.png");
  });
});
