/**
 * The lab in a real headless browser, opened from disk. Test support.
 *
 * Every page is watched: what it says in the console, what goes wrong in it, and whatever it asks of anyone.
 */
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { type Browser, type BrowserContextOptions, chromium, type Page } from "playwright-core";
import { build } from "vite";
import { afterAll, beforeAll, expect } from "vitest";
import { readAddress } from "../../harness/lab/address.js";
import { reckon } from "../../harness/lab/reckon.js";
import { shipped } from "../../harness/files/package-root.js";

/** Where distributions put it; another can be named. */
const PLACES = [process.env["CHROMIUM"] ?? "", "/usr/bin/chromium", "/usr/bin/chromium-browser"];
export const CHROMIUM = PLACES.find((place) => place !== "" && existsSync(place));
if (CHROMIUM === undefined) {
  console.log("Skipped: the lab in a browser, since there is no Chromium; name one in CHROMIUM.");
}

/** Longest wait for anything on the page. */
const WAIT_MILLIS = 20_000;

interface Lab {
  readonly page: Page;
  /** What went wrong so far: console messages, exceptions, requests off the page. */
  readonly troubles: readonly string[];
}

interface Rig {
  /** Opens the lab with an address, and waits for the first day. */
  readonly open: (hash?: string, options?: BrowserContextOptions) => Promise<Lab>;
  readonly close: () => Promise<void>;
}

/** Builds the page into a folder of its own and starts a browser. */
async function startRig(): Promise<Rig> {
  const folder = mkdtempSync(join(tmpdir(), "lab-"));
  await build({
    configFile: shipped(".config/vite.lab.config.js"),
    logLevel: "warn",
    build: { outDir: folder },
  });
  const browser: Browser = await chromium.launch({
    executablePath: CHROMIUM ?? "",
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
  });
  const address = pathToFileURL(join(folder, "index.html")).href;
  return {
    async open(hash = "", options = {}) {
      const context = await browser.newContext({ viewport: { width: 1400, height: 900 }, ...options });
      const page = await context.newPage();
      page.setDefaultTimeout(WAIT_MILLIS);
      const troubles: string[] = [];
      page.on("console", (message) => troubles.push(`${message.type()}: ${message.text()}`));
      page.on("pageerror", (error) => troubles.push(`exception: ${error.message}`));
      page.on("request", (request) => {
        const url = request.url();
        if (!url.startsWith(address) && !/^(?:blob|data):/.test(url)) troubles.push(`request: ${url}`);
      });
      await page.goto(`${address}${hash === "" ? "" : `#${hash}`}`);
      await page.waitForSelector("html[data-reckoned]");
      return { page, troubles };
    },
    async close() {
      await browser.close();
      rmSync(folder, { recursive: true });
    },
  };
}

/** Waits until a script's expression is true; by the debugger's door, since the page's policy forbids `eval`. */
export async function until(page: Page, expression: string): Promise<void> {
  await expect
    .poll(() => page.evaluate<boolean>(expression), { timeout: WAIT_MILLIS, message: expression })
    .toBe(true);
}

/** Waits until the address of the page, and what was reckoned last, tell this. */
export async function settled(page: Page, told: { readonly [name: string]: string }): Promise<void> {
  const pairs = JSON.stringify(Object.entries(told));
  await until(
    page,
    `(() => {
    const address = new URLSearchParams(location.hash.slice(1));
    const reckoned = new URLSearchParams(document.documentElement.dataset.reckoned);
    const isLook = (name) => name === "at" || name === "window";
    return ${pairs}.every(
      ([name, text]) => address.get(name) === text && (isLook(name) || reckoned.get(name) === text),
    );
  })()`,
  );
}

/** The numbers in the page's table, by name. */
export async function numbersOn(page: Page): Promise<{ [name: string]: number | null }> {
  return comparable(
    await page.evaluate(
      `[...document.querySelectorAll("[data-number]")].map(({ dataset: { number, value } }) => [number, JSON.parse(value)])`,
    ),
  );
}

/** What the library gives for a state of the page, in this process. */
export function numbersHere(address: string): { [name: string]: number | null } {
  const { state } = readAddress(address);
  const reckoned = reckon(state.texts, state.presses);
  if (!reckoned.ok) throw new Error(JSON.stringify(reckoned.faults));
  return comparable(reckoned.numbers.map(({ name, value }) => [name, value]));
}

/** Exponentials differ in their last digits from engine to engine: twelve digits are compared. */
function comparable(numbers: readonly (readonly [string, number | null])[]): {
  [name: string]: number | null;
} {
  return Object.fromEntries(
    numbers.map(([name, value]) => [name, value === null ? null : Number(value.toPrecision(12))]),
  );
}

/** The part of the page's address from the `#` on. */
export function addressOn(page: Page): string {
  return new URL(page.url()).hash;
}

/** Opens, does something, and finds that nothing went wrong in the page meanwhile. */
export type Visit = (
  hash: string,
  options: BrowserContextOptions,
  act: (page: Page) => Promise<void>,
) => Promise<void>;

/** One browser for all tests of a describe block. */
export function startVisits(): Visit {
  let rig: Rig | undefined;
  beforeAll(async () => {
    rig = await startRig();
  }, 60_000);
  afterAll(async () => {
    await rig?.close();
  });
  return async (hash, options, act) => {
    if (rig === undefined) throw new Error("no browser");
    const { page, troubles } = await rig.open(hash, options);
    try {
      await act(page);
      expect(troubles).toEqual([]);
    } finally {
      await page.context().close();
    }
  };
}
