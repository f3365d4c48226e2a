/**
 * Can a report of a million contacts be opened? Its size, the memory that making it takes, when a browser first paints
 * it, and how long one zoom takes. Bench.
 *
 * The browser is a real one without a window, on a page that is read from disk, the best of a few openings: what else
 * the machine does only makes it slower. Where there is no browser, only size and memory are told.
 */
import { existsSync, statSync } from "node:fs";
import { join } from "node:path";
import { type Browser, chromium } from "playwright-core";
import { runSimulateIn, type SimulateRun } from "./simulate.js";

const CONTACTS = 1_000_000;
const OPENINGS = 3;
const ZOOMS = 8;
const LONGEST_MILLIS = 60_000;
const BROWSERS = [process.env["TALLYSTROKE_CHROMIUM"], "/usr/bin/chromium", "/usr/bin/google-chrome"];

export interface ReportRun {
  readonly made: SimulateRun;
  readonly bytes: number;
  readonly opened: Opened | undefined;
}

interface Opened {
  /** From the start of loading to the first contentful paint, and until the rows could be zoomed. */
  readonly paintMillis: number;
  readonly readyMillis: number;
  /** One zoom, all rows drawn anew. */
  readonly zoomMillis: number;
}

/** Makes a report of a million contacts and opens it. */
export async function runReport(): Promise<ReportRun> {
  let bytes = 0;
  let opened: Opened | undefined;
  const file = (folder: string): string => join(folder, "report.html");
  const made = await runSimulateIn(
    CONTACTS,
    async (folder) => {
      bytes = statSync(file(folder)).size;
      opened = await open(file(folder));
    },
    (folder) => ["--report", file(folder)],
  );
  return { made, bytes, opened };
}

async function open(file: string): Promise<Opened | undefined> {
  const program = BROWSERS.find((path) => path !== undefined && existsSync(path));
  if (program === undefined) return undefined;
  const browser = await chromium.launch({
    executablePath: program,
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
    timeout: LONGEST_MILLIS,
  });
  try {
    const openings: Opened[] = [];
    for (let i = 0; i < OPENINGS; i++) openings.push(await openOnce(browser, file));
    const best = (name: keyof Opened): number => Math.min(...openings.map((opening) => opening[name]));
    return {
      paintMillis: best("paintMillis"),
      readyMillis: best("readyMillis"),
      zoomMillis: best("zoomMillis"),
    };
  } finally {
    await browser.close();
  }
}

async function openOnce(browser: Browser, file: string): Promise<Opened> {
  const page = await browser.newPage({ viewport: { width: 1_200, height: 900 } });
  page.setDefaultTimeout(LONGEST_MILLIS);
  await page.goto(`file://${file}`);
  await page.locator("#rows canvas").first().waitFor();
  await page.waitForFunction("performance.getEntriesByName('first-contentful-paint').length > 0");
  const opened = await page.evaluate<Opened>(`(async () => {
    const zoom = document.querySelector("[data-act=in]");
    const start = performance.now();
    for (let i = 0; i < ${ZOOMS}; i++) {
      zoom.click();
      // The charts draw when the script is done.
      await null;
      await null;
    }
    return {
      paintMillis: performance.getEntriesByName("first-contentful-paint")[0].startTime,
      readyMillis: performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd,
      zoomMillis: (performance.now() - start) / ${ZOOMS},
    };
  })()`);
  await page.close();
  return opened;
}
