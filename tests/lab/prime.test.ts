/**
 * Prime on the lab page, in a real browser: held by mouse, touch and keyboard, and let go by whatever happens first.
 */
import type { Page } from "playwright-core";
import { describe, expect, test } from "vitest";
import { readAddress } from "../../harness/lab/address.js";
import { SECOND } from "../../lib/pacing/index.js";
import { addressOn, CHROMIUM, numbersHere, numbersOn, startVisits, until } from "./browser.js";

describe.skipIf(CHROMIUM === undefined)("prime in a browser", () => {
  const visit = startVisits();

  const primedFor = async (page: Page): Promise<{ readonly seconds: number; readonly strokes: number }> => {
    const { state } = readAddress(addressOn(page));
    const seconds = state.presses.reduce((sum, one) => sum + (one.offMicros - one.onMicros) / SECOND, 0);
    return { seconds, strokes: (await numbersOn(page))["primed"] ?? 0 };
  };
  const primesOn = async (page: Page): Promise<void> => {
    await page.waitForSelector("html[data-priming]");
    await until(page, `Number(document.querySelector("[data-number=primed]").dataset.value) >= 2`);
  };
  const released = async (page: Page): Promise<void> => {
    await page.waitForSelector("html:not([data-priming])");
    const at = await page.locator("#time").inputValue();
    await until(
      page,
      `(() => {
      const held = new URLSearchParams(location.hash.slice(1)).get("prime");
      return held !== null && new URLSearchParams(document.documentElement.dataset.reckoned).get("prime") === held;
    })()`,
    );
    expect(await page.locator("#prime").getAttribute("aria-pressed")).toBe("false");
    expect(await numbersOn(page)).toEqual(numbersHere(addressOn(page)));
    // It stays released: nothing moves on by itself.
    await page.evaluate("new Promise((done) => setTimeout(done, 200))");
    expect(await page.locator("#time").inputValue()).toBe(at);
  };

  test.each([
    ["the mouse", "mouse"],
    ["the space bar", " "],
    ["Enter", "Enter"],
  ])("prime is held by %s and stops when let go", async (_, by) => {
    await visit("at=64000", {}, async (page) => {
      const prime = page.locator("#prime");
      await prime.focus();
      if (by === "mouse") {
        await prime.hover();
        await page.mouse.down();
      } else await page.keyboard.down(by);
      await primesOn(page);
      if (by === "mouse") await page.mouse.up();
      else await page.keyboard.up(by);
      await released(page);
      const { seconds, strokes } = await primedFor(page);
      expect(strokes).toBe(Math.floor(seconds) + 1);
      await page.locator("#forget-prime").click();
      await until(page, `!/[#&]prime=/.test(location.hash)`);
      expect(readAddress(addressOn(page)).state.presses).toEqual([]);
    });
  });

  test("prime is held by touch, on a narrow screen, and stops when the finger is lifted", async () => {
    const phone = { viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true };
    await visit("at=64000", phone, async (page) => {
      const prime = page.locator("#prime");
      await prime.scrollIntoViewIfNeeded();
      const box = await prime.boundingBox();
      const touch = await page.context().newCDPSession(page);
      const touchPoints = [{ x: (box?.x ?? 0) + 20, y: (box?.y ?? 0) + 20 }];
      await touch.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints });
      await primesOn(page);
      await touch.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
      await released(page);
    });
  });

  test("prime is released when the focus goes, or on Escape", async () => {
    for (const leave of ["Tab", "Escape"]) {
      await visit("at=64000", {}, async (page) => {
        await page.locator("#prime").focus();
        await page.keyboard.down(" ");
        await primesOn(page);
        await page.keyboard.press(leave);
        await released(page);
        // Not by its longest, which is 20 s.
        expect((await primedFor(page)).seconds).toBeLessThan(15);
      });
    }
  });

  test("prime is released at its longest, though it is still held", async () => {
    await visit("at=64000&longest-prime=3+s", {}, async (page) => {
      await page.locator("#prime").hover();
      await page.mouse.down();
      await primesOn(page);
      await released(page);
      expect(await primedFor(page)).toEqual({ seconds: 3, strokes: 4 });
      expect(await page.locator("#prime-says").textContent()).toContain("Stopped");
      await page.mouse.up();
    });
  });
});
