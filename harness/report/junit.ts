/**
 * What does a verification tell a CI system? JUnit XML: a suite for each stimulus, a case for each law. Harness layer.
 *
 * Broken is a failure, a device that failed an error, and what was not seen or cannot be told is skipped, with the reason.
 */
import loaded, { type Builder, type TestSuite } from "junit-report-builder";
import { SECOND } from "../../lib/pacing/index.js";
import type { StimulusResult, VerifyReport } from "../verify/report.js";

// Its types describe the CommonJS module, whose default is one level further in.
const builder = loaded as unknown as Builder;

export function junitText(report: VerifyReport): string {
  const xml = builder.newBuilder();
  for (const stimulus of report.stimuli) {
    const suite = xml.testSuite().name(stimulus.name).time(seconds(stimulus.deviceMicros));
    for (const { law, answer, evidence = "", brokenAtMicros } of stimulus.laws) {
      const testCase = suite.testCase().className(stimulus.name).name(law);
      if (answer === "broken")
        testCase.failure(plain(`at ${seconds(brokenAtMicros ?? 0)} s: ${evidence}`), "broken");
      else if (answer !== "holds") testCase.skipped().standardOutput(plain(`${answer}: ${evidence}`));
    }
    addFault(suite, stimulus);
  }
  for (const { name, reason } of report.skipped) {
    xml
      .testSuite()
      .name(name)
      .testCase()
      .className(name)
      .name("played")
      .skipped()
      .standardOutput(plain(reason));
  }
  return xml.build();
}

function addFault(suite: TestSuite, { name, fault }: StimulusResult): void {
  const testCase = suite.testCase().className(name).name("device");
  if (fault !== undefined) testCase.error(plain(`${fault.message}. Mend: ${fault.mend}.`), fault.kind);
}

/** What a device sent may hold what XML cannot. */
function plain(text: string): string {
  return text.replace(/[^\x20-\uD7FF]/g, "?");
}

function seconds(micros: number): number {
  return micros / SECOND;
}
