/**
 * Is what a verification found what its report shows: the same numbers, the failing case as it was played?
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import type { StartRun } from "../../harness/device.js";
import { runModel } from "../../harness/devices/model.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { settingsFrom } from "../../harness/files/settings.js";
import { verifyReportOf } from "../../harness/report/html/verify-page.js";
import { verifyObject } from "../../harness/report/verify-json.js";
import { verifyInputOf } from "../../harness/report/html/verify-drawn.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { folder, run } from "../cli/kit.js";

/** Twice as fast as it may be. */
const tooFast: StartRun = (settings, sink, options) =>
  runModel({ ...settings, leastSpacingMicros: Math.floor(settings.leastSpacingMicros / 2) }, sink, options);

test("the smallest case that breaks a law is played once more, and drawn with the moment at which it breaks", async () => {
  const settings = settingsFrom(
    new Map([
      ["ratio", { text: "3:1" }],
      ["cap", { text: "60" }],
    ]),
  );
  const device = modelDevice(tooFast);
  const found = await verifyDevice(device, settings, { scenarios: ["step"], runs: 0 });
  const input = await verifyInputOf(device, found, verifyObject(found, []), undefined);
  const [drawn] = input.counterexamples;
  const strokes = (drawn?.events ?? [])
    .filter(({ kind }) => kind === "paced")
    .map(({ atMicros }) => atMicros);
  expect(drawn?.law).toBe("cap");
  expect(strokes).toContain(drawn?.atMicros);
  expect(Math.min(...strokes.slice(1).map((at, i) => at - (strokes[i] ?? 0)))).toBeLessThan(1_000_000);
  const { html, figures } = verifyReportOf(input, "");
  expect(html).toContain("<h1>One law was broken: cap</h1>");
  expect(figures.map(({ id }) => id)).toEqual(
    expect.arrayContaining(["counterexample-1", "timeline", "laws"]),
  );
});

test("verify --report holds the numbers that --json prints, and draws its first run", async () => {
  const at = folder();
  const options = [
    "--device",
    "model",
    "--ratio",
    "2:1",
    "--cap",
    "120",
    "--scenario",
    "steady",
    "--runs",
    "1",
  ];
  const ended = await run("verify", ...options, "--json", "--report", join(at, "r.html"));
  const html = readFileSync(join(at, "r.html"), "utf8");
  const [, numbers = ""] = /id="report-numbers">(.*?)<\/script>/s.exec(html) ?? [];
  expect(JSON.parse(numbers)).toEqual(JSON.parse(ended.result));
  expect(html).toContain("The first run of steady.");
});

test("verify refuses a report that cannot be written before it plays anything", async () => {
  const at = folder();
  const ended = await run(
    "verify",
    "--device",
    "model",
    "--ratio",
    "2:1",
    "--cap",
    "120",
    "--report",
    join(at, "none", "r.html"),
  );
  expect(ended.status).toBe(2);
  expect(ended.talk).toMatch(/^[^\n]*r\.html[^\n]*cannot be written/);
  expect(readdirSync(at)).toEqual([]);
});
