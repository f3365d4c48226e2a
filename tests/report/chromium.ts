/**
 * Is there a real browser to open a page in, and what did the page do in it? Test support.
 */
import { existsSync } from "node:fs";
import { type Browser, type BrowserContextOptions, chromium, type Page } from "playwright-core";

const PLACES = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
const ARGUMENTS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--no-first-run",
];
/** Longest that anything in the page may take, in ms. */
const LONGEST_MILLIS = 60_000;

/** The browser's program; undefined, with a printed line, where there is none. */
export const CHROMIUM = [process.env["TALLYSTROKE_CHROMIUM"], ...PLACES].find(
  (path) => path !== undefined && existsSync(path),
);
if (CHROMIUM === undefined) {
  console.log(`skipped: no Chromium at ${PLACES.join(", ")} or in TALLYSTROKE_CHROMIUM`);
}

/** Starts it without a window. */
export function startBrowser(): Promise<Browser> {
  return chromium.launch({ executablePath: CHROMIUM ?? "", args: ARGUMENTS, timeout: LONGEST_MILLIS });
}

/** A page, and all that it said or asked for that a report must not. */
export interface Opened {
  readonly page: Page;
  /** Errors and warnings of the console, exceptions, and requests for anything but the file itself. */
  readonly complaints: readonly string[];
}

/** Opens a file from disk. */
export async function openFile(
  browser: Browser,
  path: string,
  options: BrowserContextOptions = {},
): Promise<Opened> {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  page.setDefaultTimeout(LONGEST_MILLIS);
  const complaints: string[] = [];
  const url = `file://${path}`;
  page.on("console", (message) => {
    if (message.type() !== "log" && message.type() !== "info") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("request", (request) => {
    if (request.url().split("#")[0] !== url) complaints.push(`asked for ${request.url()}`);
  });
  await page.goto(url, { timeout: LONGEST_MILLIS });
  return { page, complaints };
}
