/**
 * May a device talk itself out of a verdict? By failing now and then, by hiding its dose, by giving up what it owes.
 */
import { expect, test } from "vitest";
import type { StartRun } from "../../harness/device.js";
import { modelDevice } from "../../harness/devices/model-device.js";
import { runModel } from "../../harness/devices/model.js";
import { statusOfReport, verifyDevice } from "../../harness/verify/verify.js";
import { LAW_NAMES } from "../../lib/laws/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { failing, FIVE_THIRDS } from "./kit.js";

test("a controller that says once that it cannot go on is not begun again until it can", async () => {
  const device = failing((run) => (run === 1 ? "failed" : undefined));
  const report = await verifyDevice(device, FIVE_THIRDS, { scenarios: ["steady"] });
  expect([statusOfReport(report), report.repeats, report.stimuli[0]?.fault?.kind]).toEqual([3, 0, "failed"]);
});

test("one that will not have its dose looked at ends in 3, though every other law holds", async () => {
  const model = modelDevice();
  const laws = new Set(LAW_NAMES.filter((law) => law !== "proportion"));
  const report = await verifyDevice({ ...model, about: { ...model.about, laws } }, FIVE_THIRDS, {
    scenarios: ["steady"],
  });
  expect(report.laws.filter(({ answer }) => answer === "broken")).toEqual([]);
  expect(statusOfReport(report)).toBe(3);
});

/** Makes its first stroke, and gives up every later one as if the water stood still, in accounts that add up. */
const idle: StartRun = (settings, sink, options) => {
  let shed = 0;
  let hasStroked = false;
  const tell = (event: TraceEvent): void => {
    if (event.kind === "status") sink({ ...event, paced: event.paced - shed, shed: event.shed + shed });
    else if (event.kind !== "paced" || !hasStroked) sink(event);
    else {
      shed += 1;
      sink({ kind: "shed", atMicros: event.atMicros, cause: "still", strokes: 1 });
    }
    hasStroked ||= event.kind === "paced";
  };
  return runModel(settings, tell, options);
};

test("one that gives up its strokes while water flows breaks the law of proportion, shown by two contacts", async () => {
  const report = await verifyDevice(modelDevice(idle), FIVE_THIRDS, { scenarios: ["steady"] });
  expect(statusOfReport(report)).toBe(1);
  const broken = report.laws.filter(({ answer }) => answer === "broken").map(({ law }) => law);
  expect(broken).toEqual(["proportion"]);
  const [found] = report.counterexamples;
  expect(found?.evidence).toMatch(
    /^1 earned strokes shed \(still\), but the last contact was only \d+ µs before$/,
  );
  expect(found?.stimulus.passages).toEqual([expect.objectContaining({ kind: "contacts", count: 2 })]);
});
