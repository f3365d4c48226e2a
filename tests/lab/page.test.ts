/**
 * The lab page, opened from disk in a real browser: every control, keyboard and touch, and nobody left out.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { describe, expect, test } from "vitest";
import { FIELDS, START_TEXTS, type Texts } from "../../harness/lab/fields.js";
import { WINDOWS } from "../../harness/lab/state.js";
import { HOUR, SECOND } from "../../lib/pacing/index.js";
import { addressOn, CHROMIUM, numbersHere, numbersOn, settled, startVisits, until } from "./browser.js";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

describe.skipIf(CHROMIUM === undefined)("the lab in a browser", () => {
  const visit = startVisits();

  test.each([
    ["as it opens", ""],
    ["a cap too slow for the peak", "cap=6&pattern=school"],
    [
      "prompt, a divide and two presses",
      "ratio=1%3A4&stroke-volume=0.96+mL&cadence=prompt&prime=100-110,40000-40007",
    ],
    ["gallons", "contact-volume=5+gal&peak=12+gal%2Fmin&strength=5.25+%25&ratio=3%3A1&pattern=milking"],
  ])("shows the numbers that the library gives for the same stimulus: %s", async (_, hash) => {
    await visit(hash, {}, async (page) => {
      expect(await numbersOn(page)).toEqual(numbersHere(`#${hash}`));
    });
  });

  const changes: { [name in keyof Texts]: string } = {
    pattern: "tank",
    peak: "45 L/min",
    "contact-volume": "5 gal",
    "mixing-volume": "200 L",
    dose: "2 mg/L",
    strength: "5.25 %",
    "stroke-volume": "0.3 mL",
    cap: "30",
    ratio: "5:4",
    cadence: "prompt",
    grace: "2 min",
    "longest-prime": "5 s",
  };
  test.each(FIELDS.map(({ name }) => name))("%s can be set, and the day follows", async (name) => {
    await visit("", {}, async (page) => {
      const control = page.locator(`#${name}`);
      const isChoice = FIELDS.find((field) => field.name === name)?.choices !== undefined;
      if (isChoice) await control.selectOption(changes[name]);
      else await control.fill(changes[name]);
      await settled(page, { [name]: changes[name] });
      expect(await numbersOn(page)).toEqual(numbersHere(addressOn(page)));
    });
  });

  test("every slider moves its text, in the unit that was used, by keyboard", async () => {
    await visit("contact-volume=5+gal", {}, async (page) => {
      for (const { name, slider } of FIELDS) {
        if (slider === undefined) continue;
        const before = await page.locator(`#${name}`).inputValue();
        await page.locator(`#${name}-slider`).press("PageUp");
        const after = await page.locator(`#${name}`).inputValue();
        expect([name, after === before, after.replace(/[\d.]+/, "")]).toEqual([
          name,
          false,
          before.replace(/[\d.]+/, ""),
        ]);
        await settled(page, { [name]: after });
      }
      expect(await numbersOn(page)).toEqual(numbersHere(addressOn(page)));
    });
  });

  test("a ratio on offer is taken with one press", async () => {
    await visit("", {}, async (page) => {
      await page.locator("#offers").getByRole("button", { name: "2:1" }).click();
      await settled(page, { ratio: "2:1" });
      expect(await page.locator("#says").textContent()).toContain("33.3 % more than the 1.2 wanted");
    });
  });

  test("time is scrubbed by slider and in the figure, played and paused; the closer look has its widths", async () => {
    await visit("", {}, async (page) => {
      await page.locator("#time").fill("43200");
      await settled(page, { at: "43200" });
      expect(await page.locator("#at-words").textContent()).toMatch(/^12:00:00: 0|^12:00:00: \d/);
      const box = await page.locator("#day-strips").boundingBox();
      await page.mouse.click((box?.x ?? 0) + (box?.width ?? 0) / 2, (box?.y ?? 0) + 40);
      expect(Number(await page.locator("#time").inputValue())).toBeGreaterThan(41_000);
      await page.locator("#pace").selectOption("1800");
      const before = Number(await page.locator("#time").inputValue());
      await page.locator("#play").click();
      await until(page, `Number(document.getElementById("time").value) > ${before + 600}`);
      await page.locator("#play").click();
      expect(await page.locator("#play").textContent()).toBe("Play");
      for (const { micros } of WINDOWS) {
        await page.locator("#window").selectOption(String(micros));
        await settled(page, { window: String(micros / SECOND) });
      }
    });
  });

  test("all can be reached and used by keyboard alone, in the order of the page", async () => {
    await visit("", {}, async (page) => {
      const reached = new Set<string>();
      const many = await page
        .locator("input:visible, select:visible, button:visible, summary:visible")
        .count();
      for (let i = 0; i < many; i++) {
        await page.keyboard.press("Tab");
        reached.add(
          await page.evaluate<string>("document.activeElement.id || document.activeElement.textContent"),
        );
      }
      const ids = await page.evaluate<string[]>(
        `[...document.querySelectorAll("input, select, button, summary")]
          .filter((one) => one.checkVisibility())
          .map((one) => one.id || one.textContent)`,
      );
      expect([...reached].sort()).toEqual([...new Set(ids)].sort());
    });
  });

  test("a guess is judged, the working shows, and its buttons set up what is to be seen", async () => {
    await visit("", {}, async (page) => {
      const ratio = page.locator("#question-ratio");
      await ratio.locator("> summary").press("Enter");
      await page.locator("#guess-ratio").fill("50");
      expect(await ratio.locator("output").textContent()).toBe("Not quite, it is less than that.");
      await page.locator("#guess-ratio").fill("33");
      expect(await ratio.locator("output").textContent()).toBe("Yes: 33.3 %.");
      await page.locator("#guess-ratio").fill("a third");
      expect(await ratio.locator("output").textContent()).toBe("Write a plain number, such as 12.5.");
      for (const id of ["cap", "divide", "still", "cadence"]) {
        await page.locator(`#question-${id} > summary`).click();
      }
      for (const summary of await page.locator(".working > summary").all()) await summary.click();
      await ratio.getByRole("button", { name: "Set 2:1" }).click();
      await settled(page, { ratio: "2:1" });
      expect(await page.locator("#question-ratio .working").getAttribute("open")).toBe("");
      await page.getByRole("button", { name: "Look at the peak" }).click();
      await page.getByRole("button", { name: /too slow/ }).click();
      await page.waitForURL(/&cap=(?!60&)/);
      await settled(page, { cap: await page.locator("#cap").inputValue() });
      expect(await numbersOn(page)).toEqual(numbersHere(addressOn(page)));
    });
  });

  test("what cannot be used is told at its field with the mend, stays, and is mended there", async () => {
    await visit("dose=1.2&grace=1+s&cap=20&pattern=lake&at=noon&colour=blue", {}, async (page) => {
      expect(await page.locator("#dose").inputValue()).toBe("1.2");
      expect(await page.locator("#pattern").inputValue()).toBe("lake");
      const says = async (id: string): Promise<string> => (await page.locator(`#${id}`).textContent()) ?? "";
      expect(await says("dose-complaint")).toContain("has no unit");
      expect(await says("grace-complaint")).toContain("at least 6 s");
      expect(await says("pattern-complaint")).toContain("Choose one of steady");
      expect(await says("unread")).toMatch(/at=noon is no moment.*colour=blue is not known/);
      expect(await page.locator("#dose").getAttribute("aria-invalid")).toBe("true");
      expect(await numbersOn(page)).toEqual(numbersHere(""));
      await page.locator("#dose").fill("1.4 mg/L");
      await page.locator("#grace").fill("60 s");
      await page.locator("#pattern").selectOption("tank");
      await settled(page, {
        dose: "1.4 mg/L",
        grace: "60 s",
        pattern: "tank",
      });
      expect(await says("dose-complaint")).toBe("");
      expect(addressOn(page)).toMatch(/at=noon.*colour=blue/);
      await page.locator("#time").fill("100");
      await page.waitForURL(/&at=100&/);
      expect(await says("unread")).not.toContain("noon");
      expect(await numbersOn(page)).toEqual(numbersHere(addressOn(page)));
    });
  });

  test("an address brings back the state that wrote it, and a changed one is taken at once", async () => {
    let address = "";
    await visit("", {}, async (page) => {
      await page.locator("#cap").fill("6");
      await page.locator("#time").fill("36000");
      await settled(page, { cap: "6", at: "36000" });
      address = addressOn(page).slice(1);
    });
    await visit(address, {}, async (page) => {
      expect(await page.locator("#cap").inputValue()).toBe("6");
      expect(await page.locator("#time").inputValue()).toBe("36000");
      await page.evaluate(`location.hash = "ratio=2:1&at=7200"`);
      await until(page, `/ratio=2%3A1/.test(document.documentElement.dataset.reckoned)`);
      expect(await page.locator("#cap").inputValue()).toBe(START_TEXTS.cap);
      await page.locator("#reset").click();
      await settled(page, { ratio: START_TEXTS.ratio, at: String((10 * HOUR) / SECOND) });
      await page.locator("#copy").click();
      await page.waitForSelector("#copied:not(:empty)");
    });
  });

  test.each([
    ["narrow", { viewport: { width: 360, height: 740 } }],
    ["wide", { viewport: { width: 1400, height: 900 } }],
    ["dark", { viewport: { width: 1400, height: 900 }, colorScheme: "dark" as const }],
    ["with faults", { viewport: { width: 1400, height: 900 } }],
  ])(
    "%s: nothing runs off the side, and the accessibility checker finds nothing serious",
    async (name, options) => {
      const hash = name === "with faults" ? "dose=1&colour=blue&ratio=x" : "cap=6&prime=36000-36010";
      await visit(hash, options, async (page) => {
        await page.waitForSelector("#close-strips svg");
        await page.evaluate(`for (const fold of document.querySelectorAll("details")) fold.open = true`);
        expect(await page.evaluate("document.documentElement.scrollWidth")).toBe(options.viewport.width);
        // By the debugger's door, since the page's own policy lets no script in.
        await page.evaluate(AXE);
        const { violations } = await page.evaluate<{
          violations: { id: string; impact: string; nodes: { html: string }[] }[];
        }>("axe.run()");
        const serious = violations.filter(({ impact }) => impact === "serious" || impact === "critical");
        expect(serious.map(({ id, nodes }) => [id, nodes.map(({ html }) => html)])).toEqual([]);
      });
    },
  );
});
