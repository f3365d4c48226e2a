/**
 * Runs to make reports of: an eventful one through the command, and one of a controller that breaks a law. Test support.
 */
import { join } from "node:path";
import { judgeTrace } from "../../lib/laws/index.js";
import type { Settings } from "../../lib/pacing/index.js";
import type { TraceEvent } from "../../lib/trace/index.js";
import { settingsFrom, showSettings } from "../../harness/files/settings.js";
import type { ReportInput, VerifyInput } from "../../harness/report/html/input.js";
import { newReportSink } from "../../harness/report/html/sink.js";
import { newTally } from "../../harness/report/tally.js";
import { reportObject } from "../../harness/report/json.js";
import { folder, run } from "../cli/kit.js";

/** A prime, more flow than the cap can feed, a hold, an interlock, and water that stops. */
export const EVENTFUL = [
  "time_s,event",
  "1,prime-on",
  "6,prime-off",
  ...Array.from({ length: 60 }, (_, i) => `${10 + i},contact`),
  "80,hold-on",
  "82,contact",
  "90,hold-off",
  "95,contact",
  "95.5,inhibit-on",
  "99,inhibit-off",
  "100,contact",
  "",
].join("\n");

export const PLAN = JSON.stringify({
  "contact-volume": "5 L",
  dose: "1.2 mg/L",
  strength: "1 %",
  "stroke-volume": "0.2 mL",
  cap: 60,
  peak: "10 L/min",
  "mixing-volume": "20 L",
});

const SETTINGS = ["--ratio", "3:1", "--cap", "60", "--owed-limit", "20", "--grace", "30 s"];

/** Runs `simulate` on the eventful log; `more` are further options, in its folder. */
export async function simulated(more: readonly string[] = []): Promise<{
  readonly at: string;
  readonly ended: Awaited<ReturnType<typeof run>>;
}> {
  const at = folder({ "log.csv": EVENTFUL, "plan.json": PLAN });
  const options = more.map((word) => word.replace("@", `${at}/`));
  const ended = await run("simulate", join(at, "log.csv"), ...SETTINGS, ...options);
  return { at, ended };
}

/** A controller that strokes twice within the least spacing, with that as its own counterexample. */
export function brokenInput(): ReportInput {
  const settings = settingsFrom(
    new Map([
      ["ratio", { text: "2:1" }],
      ["cap", { text: "60" }],
    ]),
  );
  const events: TraceEvent[] = [
    { kind: "contact", atMicros: 1_000_000 },
    { kind: "counted", atMicros: 1_000_000, contacts: 1, earned: 2 },
    status(1_000_000, 2, 0),
    { kind: "paced", atMicros: 1_100_000 },
    status(1_100_000, 1, 1),
    { kind: "paced", atMicros: 1_300_000 },
    status(1_300_000, 0, 2),
  ];
  return inputOf(settings, events, {
    law: "cap",
    says: "One contact is enough: its two strokes come 200 ms apart, where 1 s is asked.",
    atMicros: 1_300_000,
    events,
  });
}

function status(atMicros: number, owed: number, paced: number): TraceEvent {
  return { kind: "status", atMicros, earned: 2, paced, primed: 0, owed, shed: 0, remainder: 0 };
}

/** What a report is made from, of a trace that is already there. */
export function inputOf(
  settings: Settings,
  events: readonly TraceEvent[],
  counterexample?: ReportInput["counterexample"],
): ReportInput {
  const { tally, see } = newTally(() => settings);
  const judges = judgeTrace(settings, { startRemainder: 0 });
  const sink = newReportSink(settings);
  for (const event of events) for (const take of [see, judges.see, sink.see]) take(event);
  const report = {
    source: "a test",
    tally,
    bounces: 0,
    verdicts: judges.verdicts(),
    settings: showSettings(settings),
    inForce: settings,
    versions: { tallystroke: "0" },
  };
  return {
    report,
    numbers: reportObject(report),
    drawn: sink.drawn(),
    device: "a list of events",
    seed: 7,
    counterexample,
  };
}

/** A verification of that controller: one law broken, one not seen, some left open, one run drawn. */
export function verifyInput(): VerifyInput {
  const { report, drawn, numbers, counterexample } = brokenInput();
  const laws = report.verdicts.map((verdict) => {
    if (verdict.law === "cap") return { ...verdict, stimulus: "steady flow" };
    return verdict.law === "bounce" ? { ...verdict, answer: "not seen" as const } : verdict;
  });
  return {
    device: "mock, a controller made for this test, in virtual time",
    laws,
    stimuli: [
      { name: "steady flow", runs: 1, says: "broke cap" },
      { name: "generated", runs: 200, says: "broke cap" },
    ],
    skipped: [{ name: "power cuts", reason: "the device cannot be switched off" }],
    faults: [],
    counterexamples: counterexample === undefined ? [] : [counterexample],
    seed: 7,
    toleranceMicros: 1_000,
    settings: report.settings,
    inForce: report.inForce,
    versions: report.versions,
    numbers,
    run: { says: "The smallest failing case, played once more.", report, drawn },
  };
}
