/**
 * Does a report say what the run did, in one file that needs nothing else?
 */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { settingsFrom } from "../../harness/files/settings.js";
import { reportPage } from "../../harness/report/html/page.js";
import { brokenInput, inputOf, simulated } from "./kit.js";

/** What stands in a JSON script of the page. */
function data(html: string, id: string): unknown {
  const [, text = ""] =
    new RegExp(`<script type="application/json" id="${id}">(.*?)</script>`, "s").exec(html) ?? [];
  return JSON.parse(text);
}

/** The words of the page, without marks, styles and scripts. */
function words(html: string): string {
  return html
    .replace(/<(script|style)\b.*?<\/\1>/gs, "")
    .replace(/<[^>]*>/g, " ")
    .replace(/\s+/g, " ");
}

const NONE = settingsFrom(
  new Map([
    ["ratio", { text: "1:1" }],
    ["cap", { text: "60" }],
  ]),
);

describe("a report of a run", () => {
  test("holds the numbers that --json prints, and tells the same ones in words", async () => {
    const { at, ended } = await simulated(["--json", "--report", "@r.html"]);
    const html = readFileSync(join(at, "r.html"), "utf8");
    const printed = JSON.parse(ended.result) as {
      contacts: number;
      earned: number;
      paced: number;
      most_owed: number;
    };
    expect(data(html, "report-numbers")).toEqual(printed);
    const text = words(html);
    expect(text).toContain(
      `${printed.contacts} contacts earned ${printed.earned} strokes; ${printed.paced} were made.`,
    );
    expect(text).toContain(`most owed: ${printed.most_owed} strokes, limit 20 strokes`);
  });

  test("draws counts that add up to the numbers", async () => {
    const { at, ended } = await simulated(["--json", "--report", "@r.html"]);
    const { run } = data(readFileSync(join(at, "r.html"), "utf8"), "drawn") as {
      run: { columns: { [name: string]: number[] } };
    };
    const sum = (name: string): number => (run.columns[name] ?? []).reduce((all, one) => all + one, 0);
    const printed = JSON.parse(ended.result) as {
      contacts: number;
      ignored: number;
      paced: number;
      primed: number;
      most_owed: number;
      shed: { [cause: string]: number };
    };
    expect({
      contacts: sum("contacts"),
      paced: sum("paced"),
      primed: sum("primed"),
      shed: sum("shed"),
      owed: Math.max(...(run.columns["owedMost"] ?? [])),
    }).toEqual({
      contacts: printed.contacts + printed.ignored,
      paced: printed.paced,
      primed: printed.primed,
      shed: Object.values(printed.shed).reduce((all, one) => all + one, 0),
      owed: printed.most_owed,
    });
  });

  test("asks for nothing from anywhere", async () => {
    const { at } = await simulated(["--report", "@r.html", "--plan", "@plan.json"]);
    const html = readFileSync(join(at, "r.html"), "utf8");
    const asked = [
      ...html.matchAll(/<(?:link|img|iframe|script)[^>]*(?:src|href)=|@import|url\((?!#)[^)]*\)|fetch\(/g),
    ];
    expect(asked.map(([found]) => found)).toEqual([]);
  });

  test("is the same to the byte for the same run", async () => {
    const htmls = [];
    for (let i = 0; i < 2; i++) {
      const { at } = await simulated(["--report", "@r.html", "--plan", "@plan.json"]);
      htmls.push(readFileSync(join(at, "r.html"), "utf8").replaceAll(at, ""));
    }
    // Compared as one answer: a difference of two whole pages is no help to anyone.
    expect(htmls[1] === htmls[0]).toBe(true);
  });

  test("draws each figure as SVG and PNG too", async () => {
    const { at } = await simulated(["--figures", "@figures", "--plan", "@plan.json"]);
    const names = ["dose", "downstream", "first-alarm", "laws", "least-spacing", "most-owed", "timeline"];
    expect(readdirSync(join(at, "figures"))).toEqual(names.flatMap((name) => [`${name}.png`, `${name}.svg`]));
    for (const name of names) {
      const svg = readFileSync(join(at, "figures", `${name}.svg`), "utf8");
      expect(svg).toMatch(/^<svg xmlns="http:\/\/www.w3.org\/2000\/svg".*<title>.+<\/title><desc>.+<\/desc>/);
      expect(svg).not.toMatch(/var\(|NaN|undefined|Infinity/);
      const png = readFileSync(join(at, "figures", `${name}.png`));
      expect(png.subarray(1, 4).toString()).toBe("PNG");
    }
  });
});

describe("the verdict", () => {
  const headline = (html: string): string => /<h1>(.*?)<\/h1>/.exec(html)?.[1] ?? "";

  test("of a broken law comes first, with the moment, the evidence and the smallest case", () => {
    const html = reportPage(brokenInput(), "");
    expect(headline(html)).toBe("One law was broken: cap");
    const text = words(html);
    expect(text).toMatch(/Law 3, cap, broke at 00:00:01.300: \S/);
    expect(text).toContain("The smallest case that breaks cap");
    expect(html.indexOf('id="counterexample"')).toBeLessThan(html.indexOf('id="timeline"'));
    expect(html.indexOf("broke at")).toBeLessThan(html.indexOf("<section"));
    expect(text).toContain("seed 7");
  });

  test("of what cannot be told is never that all held", () => {
    const html = reportPage(inputOf(NONE, []), "");
    expect(headline(html)).toMatch(/^No law was broken, but .* cannot be told/);
    expect(words(html)).toContain("No contact came, so nothing was fed.");
  });

  test("of a device that failed says so", () => {
    const html = reportPage(inputOf(NONE, [{ kind: "fault", atMicros: 5, message: "no answer <b>" }]), "");
    expect(html).toContain("no answer &lt;b&gt;");
    expect(html).not.toContain("no answer <b>");
    expect(headline(html)).toMatch(/^One law was broken: totality/);
  });
});

describe("the command", () => {
  test.each([
    ["a folder that is not there", ["--report", "@none/r.html"], "cannot be written"],
    ["the log itself", ["--report", "@log.csv"], "--report is the log itself"],
    ["the file of the trace", ["--trace", "@t.csv", "--report", "@t.csv"], "is the file of --trace"],
    ["a plan with nothing to draw it in", ["--plan", "@plan.json"], "--plan has nothing to be drawn in"],
    ["a plan that is not there", ["--plan", "@none.json", "--report", "@r.html"], "cannot be read"],
    ["figures in a file", ["--figures", "@log.csv"], "cannot be made"],
  ])("refuses %s, and leaves nothing behind", async (_, options, fault) => {
    const { at, ended } = await simulated(options);
    expect(ended.talk).toContain(fault);
    expect(ended.status).toBe(2);
    expect(readdirSync(at).sort()).toEqual(["log.csv", "plan.json"]);
  });

  test("says where the plan's ratio is not the run's", async () => {
    const { at } = await simulated(["--report", "@r.html", "--plan", "@plan.json", "--ratio", "2:1"]);
    expect(existsSync(join(at, "r.html"))).toBe(true);
    expect(words(readFileSync(join(at, "r.html"), "utf8"))).toMatch(
      /Mind: the plan&#39;s ratio is 3:1, this run&#39;s is 2:1/,
    );
  });
});
