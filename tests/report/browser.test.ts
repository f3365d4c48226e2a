/**
 * Can a report be used in a real browser: by mouse, by keys alone, on a small screen, on paper, in the dark, by ear?
 */
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import { pageScript } from "../../harness/report/html/bundle.js";
import { reportPage } from "../../harness/report/html/page.js";
import { verifyReportOf } from "../../harness/report/html/verify-page.js";
import { folder } from "../cli/kit.js";
import { CHROMIUM, openFile, startBrowser } from "./chromium.js";
import { brokenInput, simulated, verifyInput } from "./kit.js";

const AXE = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

const SCREENS: [string, BrowserContextOptions][] = [
  ["wide", { viewport: { width: 1_200, height: 900 } }],
  ["narrow", { viewport: { width: 360, height: 740 } }],
  ["dark", { viewport: { width: 1_200, height: 900 }, colorScheme: "dark" }],
  ["narrow and dark", { viewport: { width: 360, height: 740 }, colorScheme: "dark" }],
];

describe.skipIf(CHROMIUM === undefined)("in a real browser, a report", () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await startBrowser();
  });
  afterAll(async () => {
    await browser.close();
  });

  async function opened(options: BrowserContextOptions = {}) {
    const { at } = await simulated(["--report", "@r.html", "--plan", "@plan.json"]);
    return openFile(browser, join(at, "r.html"), options);
  }

  async function openedBroken(options: BrowserContextOptions = {}) {
    const at = folder({ "r.html": reportPage(brokenInput(), await pageScript()) });
    return openFile(browser, join(at, "r.html"), options);
  }

  async function openedVerified(options: BrowserContextOptions = {}) {
    const at = folder({ "r.html": verifyReportOf(verifyInput(), await pageScript()).html });
    return openFile(browser, join(at, "r.html"), options);
  }

  test.each(SCREENS)("says nothing to the console, asks for nothing, and fits: %s", async (_, options) => {
    for (const open of [opened, openedBroken, openedVerified]) {
      const { page, complaints } = await open(options);
      expect(complaints).toEqual([]);
      expect(await page.evaluate("document.documentElement.scrollWidth - innerWidth")).toBeLessThanOrEqual(0);
      expect(await page.locator("#rows canvas").count()).toBeGreaterThanOrEqual(5);
      await page.context().close();
    }
  });

  test.each(SCREENS)("has nothing serious that an accessibility checker finds: %s", async (_, options) => {
    for (const open of [opened, openedBroken, openedVerified]) {
      const { page } = await open(options);
      for (const summary of await page.locator("summary").all()) await summary.click();
      expect(await seriousFindings(page)).toEqual([]);
      await page.context().close();
    }
  });

  test("does by each button what the button says, and tells it in words", async () => {
    const { page, complaints } = await opened();
    const whole = await shown(page);
    await page.getByRole("button", { name: "Zoom in" }).click();
    const closer = await shownAfter(page, whole);
    expect(lengthOf(closer)).toBeCloseTo(lengthOf(whole) / 2, 5);
    await page.getByRole("button", { name: "Earlier" }).click();
    const earlier = await shownAfter(page, closer);
    expect(earlier.from).toBeLessThan(closer.from);
    await page.getByRole("button", { name: "Later" }).click();
    expect((await shownAfter(page, earlier)).from).toBeGreaterThan(earlier.from);
    await page.getByRole("button", { name: "Zoom out" }).click();
    await page.getByRole("button", { name: "Whole run" }).click();
    await expectWords(
      page,
      /^Shown: 00:00:00.000 to 00:01:4.*63 contacts; 79 strokes, of which 6 primed; at most 20/,
    );
    expect(complaints).toEqual([]);
  });

  test("is used by keys alone: every control is reached, and the rows zoom and move", async () => {
    const { page } = await opened();
    const reached = new Set<string>();
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press("Tab");
      reached.add(
        await page.evaluate(
          "document.activeElement.dataset.act ?? document.activeElement.dataset.jump ?? document.activeElement.id",
        ),
      );
    }
    const needed = ["in", "out", "earlier", "later", "whole", "rows", "most-owed", "least-spacing"];
    expect(needed.filter((name) => !reached.has(name))).toEqual([]);
    await page.focus("#rows");
    let last = await shown(page);
    for (const [key, isRight] of [
      ["+", (now: Shown, was: Shown) => lengthOf(now) < lengthOf(was)],
      ["=", (now: Shown, was: Shown) => lengthOf(now) < lengthOf(was)],
      ["ArrowLeft", (now: Shown, was: Shown) => now.from < was.from],
      ["ArrowRight", (now: Shown, was: Shown) => now.from > was.from],
      ["PageUp", (now: Shown, was: Shown) => now.from < was.from],
      ["PageDown", (now: Shown, was: Shown) => now.from > was.from],
      ["-", (now: Shown, was: Shown) => lengthOf(now) > lengthOf(was)],
      ["Home", (now: Shown, was: Shown) => lengthOf(now) > lengthOf(was)],
    ] as const) {
      await page.keyboard.press(key);
      const now = await shownAfter(page, last);
      expect({ key, isRight: isRight(now, last) }).toEqual({ key, isRight: true });
      last = now;
    }
    await page.keyboard.press("+");
    await page.focus("#position");
    last = await shownAfter(page, last);
    await page.keyboard.press("Home");
    expect((await shownAfter(page, last)).from).toBeLessThan(last.from);
  });

  test("zooms into a stretch that is dragged over, and shows a moment that is asked for", async () => {
    const { page, complaints } = await opened({ viewport: { width: 1_000, height: 900 } });
    const whole = await shown(page);
    const plot = page.locator("#rows .u-over").first();
    await plot.scrollIntoViewIfNeeded();
    const box = await plot.boundingBox();
    if (box === null) throw new Error("the rows are not to be seen");
    await page.mouse.move(box.x + 0.25 * box.width, box.y + 20);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.5 * box.width, box.y + 30, { steps: 4 });
    await page.mouse.up();
    const dragged = await shownAfter(page, whole);
    expect(lengthOf(dragged) / lengthOf(whole)).toBeCloseTo(0.25, 1);
    await page.getByRole("button", { name: /^Show moment 1/ }).click();
    await expectWords(page, /at most 20 strokes owed/);
    expect(await page.evaluate("document.activeElement.id")).toBe("rows");
    expect(complaints).toEqual([]);
  });

  test("moves under a finger", async () => {
    const { page } = await opened({ viewport: { width: 360, height: 740 }, hasTouch: true });
    await page.getByRole("button", { name: "Zoom in" }).click();
    const before = await shown(page);
    await page.locator("#rows").evaluate((rows) => {
      for (const [kind, clientX] of [
        ["pointerdown", 200],
        ["pointermove", 120],
        ["pointerup", 120],
      ] as const) {
        const view = globalThis as unknown as { PointerEvent: new (kind: string, init: object) => unknown };
        (rows as unknown as { dispatchEvent(event: unknown): void }).dispatchEvent(
          new view.PointerEvent(kind, { pointerType: "touch", clientX, bubbles: true }),
        );
      }
    });
    expect((await shownAfter(page, before)).from).toBeGreaterThan(before.from);
  });

  test("prints on paper with still drawings, no controls, and in light colours", async () => {
    const { page } = await opened({ colorScheme: "dark" });
    await page.emulateMedia({ media: "print", colorScheme: "dark" });
    expect(await page.locator("#live").isVisible()).toBe(false);
    expect(await page.locator("button:visible").count()).toBe(0);
    expect(await page.locator('svg[data-figure="timeline"]').isVisible()).toBe(true);
    expect(await page.evaluate("getComputedStyle(document.body).color")).toBe("rgb(29, 39, 51)");
    const pdf = await page.pdf({ format: "A4" });
    const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g) ?? [];
    expect(pages.length).toBeLessThanOrEqual(9);
  });

  test("is whole without its script", async () => {
    const { page } = await opened({ javaScriptEnabled: false });
    expect(await page.locator("h1").innerText()).toMatch(/laws held$|cannot be told/);
    expect(await page.locator('svg[data-figure="timeline"]').isVisible()).toBe(true);
    expect(await page.locator("#live").isVisible()).toBe(false);
    expect(await page.locator("button:visible").count()).toBe(0);
  });

  test("takes every bit of text from a log as text", async () => {
    const input = brokenInput();
    const nasty = `</script><script>document.title="taken"</script><img src=x onerror="document.title='taken'">`;
    const hurt = { ...input, report: { ...input.report, source: nasty }, numbers: { source: nasty } };
    const at = folder();
    writeFileSync(join(at, "r.html"), reportPage(hurt, await pageScript()));
    const { page, complaints } = await openFile(browser, join(at, "r.html"));
    expect(await page.title()).toContain("<script>");
    expect(await page.locator("main img").count()).toBe(0);
    expect(JSON.parse(await page.locator("#report-numbers").innerText())).toEqual({ source: nasty });
    expect(complaints).toEqual([]);
    expect(readFileSync(join(at, "r.html"), "utf8")).not.toContain("<img src=x");
  });
});

interface Shown {
  /** Seconds since the start. */
  readonly from: number;
  readonly to: number;
}

/** What is in view, as exactly as the charts have it. */
function shown(page: Page): Promise<Shown> {
  return page
    .locator("#rows")
    .evaluate((rows) => (rows as unknown as { dataset: { shown: string } }).dataset.shown)
    .then((text) => {
      const [from = NaN, to = NaN] = text.split(" ").map(Number);
      return { from, to };
    });
}

/** The same, once it has changed. */
async function shownAfter(page: Page, before: Shown): Promise<Shown> {
  await page.waitForFunction(
    `document.getElementById("rows").dataset.shown !== ${JSON.stringify(`${before.from} ${before.to}`)}`,
  );
  return shown(page);
}

function lengthOf({ from, to }: Shown): number {
  return to - from;
}

async function expectWords(page: Page, words: RegExp): Promise<void> {
  await page.waitForFunction(`${words}.test(document.getElementById("now").textContent)`);
}

/** What the checker calls serious or critical, as "rule: where". */
async function seriousFindings(page: Page): Promise<string[]> {
  await page.evaluate(readFileSync(AXE, "utf8"));
  const { violations } = await page.evaluate<{
    violations: { id: string; impact: string; nodes: { html: string; failureSummary: string }[] }[];
  }>("axe.run()");
  return violations
    .filter(({ impact }) => impact === "serious" || impact === "critical")
    .flatMap(({ id, nodes }) =>
      nodes.map(({ html, failureSummary }) => `${id}: ${html.slice(0, 160)} ${failureSummary}`),
    );
}
