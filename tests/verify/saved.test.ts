import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { modelDevice } from "../../harness/devices/model-device.js";
import { junitText } from "../../harness/report/junit.js";
import { eventsOf } from "../../harness/stimuli/passage.js";
import type { Counterexample } from "../../harness/verify/report.js";
import { readSaved, saveCounterexample, stimulusOf } from "../../harness/verify/saved.js";
import { verifyDevice } from "../../harness/verify/verify.js";
import { run } from "../cli/kit.js";
import { FIVE_THIRDS, tampered, withSettings } from "./kit.js";

const folder = mkdtempSync(join(tmpdir(), "tallystroke-saved-"));
afterAll(() => {
  rmSync(folder, { recursive: true });
});

const faulty = [
  [
    "proportion",
    tampered({
      after: (s, { kind }) => {
        if (kind === "hold-off") s.remainder = 0;
      },
    }),
  ],
  ["guard", withSettings({ guardBudgetStrokes: 0, guardBurstStrokes: 1 })],
  ["debt", withSettings({ owedLimitStrokes: 1_000 })],
  [
    "wake-ups",
    tampered({
      after: (s, { kind }) => {
        if (kind === "wake") s.planMicros += 1_000;
      },
    }),
  ],
] as const;

test.each(faulty)(
  "a saved counterexample of %s, played again, breaks the same law at the same moment",
  async (law, start) => {
    const report = await verifyDevice(modelDevice(start), FIVE_THIRDS, { runs: 30 });
    const found = report.counterexamples.find((each) => each.law === law) as Counterexample;
    const file = join(folder, `${law}.csv`);
    saveCounterexample(file, found);
    const saved = await readSaved(file);
    expect(saved.events).toEqual(eventsOf(found.stimulus.passages).filter(({ kind }) => kind !== "wake"));
    expect(saved.settings).toEqual(found.settings);
    const again = await verifyDevice(modelDevice(start), found.settings, {
      replay: { name: file, stimulus: stimulusOf(saved, found.settings), way: saved.way },
    });
    const verdict = again.laws.find((each) => each.law === law);
    expect({ answer: verdict?.answer, at: verdict?.brokenAtMicros, evidence: verdict?.evidence }).toEqual({
      answer: "broken",
      at: found.brokenAtMicros,
      evidence: found.evidence,
    });
    const { status } = await run("simulate", file, "--ratio", "5:3", "--cap", "120", "--json");
    expect([0, 3]).toContain(status);
  },
);

test("the JUnit file is well formed, and tells what broke, failed and was not seen", async () => {
  const report = await verifyDevice(modelDevice(withSettings({ owedLimitStrokes: 1_000 })), FIVE_THIRDS, {
    scenarios: ["steady", "peak-above-the-cap"],
  });
  const nasty = {
    ...report,
    stimuli: report.stimuli.map((each) => ({
      ...each,
      fault: { kind: "nonsense" as const, message: "it sent <&\u0000\u001b]]>\ud800", mend: '"look"' },
    })),
  };
  const text = junitText(nasty);
  expect(unclosedTags(text)).toEqual([]);
  expect(text).not.toMatch(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ud800-\udfff]/);
  expect(text).toContain('<failure message="at ');
  expect(text).toContain("<skipped/>");
  expect(text).toMatch(/<error message="it sent &lt;&amp;/);
});

/** Tags left open, or closed where another is open. */
function unclosedTags(xml: string): string[] {
  const open: string[] = [];
  const bare = xml.replace(/<!\[CDATA\[[\s\S]*?\]\]>|<\?[^>]*\?>/g, "");
  for (const [, close, name = "", self] of bare.matchAll(/<(\/?)([\w-]+)(?:\s+[\w-]+="[^"<]*")*\s*(\/?)>/g)) {
    if (self === "/") continue;
    if (close !== "/") open.push(name);
    else if (open.pop() !== name) return [`</${name}>`];
  }
  return open;
}

test("a counterexample keeps its settings in a comment that a person can read", () => {
  const text = readFileSync(join(folder, "debt.csv"), "utf8");
  expect(text).toMatch(
    /^# A device broke the law debt at .+\n# Made from .+\n# played as it is\n# settings strokes=5 contacts=3 /,
  );
});
